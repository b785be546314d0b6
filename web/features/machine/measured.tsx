// The size that was measured, or the way to enter it.
import { recorded } from "../../app/state.ts";
import { sizeText, verdict } from "../../core/size.ts";
import type { Step, Unit } from "../../core/wire.ts";

export function Measured({ step, unit, open }: { step: Step; unit: Unit; open: () => void }) {
  const reading = recorded.value.readings.get(step.id);
  const word = unit === "inch" ? "in" : "mm";
  const limits = step.measure && step.measure.upper_mm > step.measure.lower_mm ? step.measure : undefined;
  if (reading?.value_mm === undefined) {
    return <button type="button" class="enter" onClick={open}>Enter the size</button>;
  }
  const said = limits && verdict(reading.value_mm, limits.lower_mm, limits.upper_mm, unit);
  return (
    <div class={`measured ${said && !said.within ? "out" : ""}`}>
      <p>Measured <strong>{sizeText(reading.value_mm, unit)}</strong> {word}</p>
      {said && <p>{!said.within && <span class="mark look">Look here</span>} {said.word}</p>}
      <button type="button" onClick={open}>Measure again</button>
    </div>
  );
}
