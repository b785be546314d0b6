// The setup's drawings, as they go to paper.
import { useState } from "preact/hooks";
import { askDrawings, drawingAddress } from "../../core/client.ts";
import type { DrawingName, Setup, Unit } from "../../core/wire.ts";
import { useAsked } from "../../drawing/asked.ts";
import { SolidView } from "./solid_view.tsx";

const first: DrawingName = { kind: "setup", sheet: 1 };
const words = { setup: "As it sits", holes: "Holes", cuts: "Cuts" };

function nameOf(drawing: DrawingName): string {
  return drawing.sheet > 1 ? `${words[drawing.kind]} ${drawing.sheet}` : words[drawing.kind];
}
const same = (a: DrawingName, b: DrawingName): boolean => a.kind === b.kind && a.sheet === b.sheet;

export function DrawingSheet({ setup, unit, heading }: { setup: Setup; unit: Unit; heading: string }) {
  const [chosen, setChosen] = useState<DrawingName>(first);
  const [there, setThere] = useState("");
  const [large, setLarge] = useState(false);
  const [turned, setTurned] = useState(false);
  const { value: list, faults } = useAsked(() => askDrawings(setup.number, unit), [setup.number, unit]);
  if (setup.parts.length === 0) return null;
  const address = drawingAddress(setup.number, chosen, unit);
  const state = faults.length > 0 ? "none" : there === address ? "there" : "coming";
  return (
    <figure class={large ? "drawing large" : "drawing"} onKeyDown={(event) => { if (event.key === "Escape") setLarge(false); }}>
      <figcaption>
        <div class="choice" role="group" aria-label="Which drawing">
          {(list?.drawings ?? [first]).map((drawing) => (
            <button
              key={nameOf(drawing)} type="button" aria-pressed={!turned && same(drawing, chosen)}
              onClick={() => { setTurned(false); setChosen(drawing); }}
            >
              {nameOf(drawing)}
            </button>
          ))}
          <button type="button" aria-pressed={turned} onClick={() => setTurned(true)}>Turn it</button>
          <button type="button" aria-pressed={large} onClick={() => setLarge(!large)}>{large ? "Smaller" : "Larger"}</button>
        </div>
        <span class="coming" aria-live="polite">
          {turned ? "" : state === "coming" ? "Being drawn." : state === "none" ? `It was not drawn: ${faults[0]?.message ?? ""}.` : ""}
        </span>
      </figcaption>
      {turned && <SolidView setup={setup.number} heading={heading} />}
      {list && !turned && (
        <img
          key={address}
          class={state}
          src={address}
          alt={`${nameOf(chosen)}: ${heading}`}
          onLoad={() => setThere(address)}
        />
      )}
    </figure>
  );
}
