// The size that was measured, and what it means.
import { limitsAt, record, standing } from "../../app/build.ts";
import { placeKey } from "../../core/record.ts";
import { sizeText, verdict } from "../../core/size.ts";
import type { StepOnPiece, Unit } from "../../core/wire.ts";
import { WaysOut } from "./ways_out.tsx";

// What it means, in the server's words where it has said them.
function Said({ place, value_mm, say, unit }: { place: StepOnPiece; value_mm: number; say: string[]; unit: Unit }) {
  const limits = limitsAt(place);
  const said = limits && verdict(value_mm, limits.lower_mm, limits.upper_mm, unit);
  const sentences = say.length > 0 ? say : said ? [said.word] : [];
  return (
    <>
      {sentences.map((sentence, i) => (
        <p key={i} class="say">{i === 0 && said && !said.within && <span class="mark look">Look here</span>} {sentence}</p>
      ))}
    </>
  );
}

export function Measured({ place, number, unit, open }: { place: StepOnPiece; number: string; unit: Unit; open: () => void }) {
  const reading = standing.value.readings.get(placeKey(place));
  if (!reading) return null;
  const takeBack = (): void => {
    void record(`the reading of ${number} taken back`, { kind: "reading_undone", ...place }, { kind: "step_undone", ...place });
  };
  return (
    <div class={`measured ${reading.verdict === "over" || reading.verdict === "under" ? "out" : ""}`}>
      <div class="read">
        <p>Measured <strong>{sizeText(reading.value_mm, unit)}</strong> {unit === "inch" ? "in" : "mm"}</p>
        <div class="choice">
          <button type="button" onClick={open}>Measure again</button>
          <button type="button" onClick={takeBack}>Take it back</button>
        </div>
      </div>
      <Said place={place} value_mm={reading.value_mm} say={reading.say} unit={unit} />
      <WaysOut key={reading.id} reading={reading} place={place} number={number} />
    </div>
  );
}
