// Where to go, place by place: the one at hand large enough to dial from at arm's length.
import { signal } from "@preact/signals";
import { withMinus, type Place, type StepScreen } from "../../core/sheet.ts";
import type { Unit } from "../../core/wire.ts";

// Places ticked in each step while the page is open; a step is done or not, its places are a help for the eye.
const ticked = signal<Record<string, number[]>>({});

function toggle(step: string, place: number): void {
  const now = ticked.value[step] ?? [];
  ticked.value = { ...ticked.value, [step]: now.includes(place) ? now.filter((p) => p !== place) : [...now, place] };
}

function Readings({ place }: { place: Place }) {
  return (
    <dl class="readings">
      {place.readings.map((reading, i) => (
        <div key={i}>
          <dt>{reading.axis}{/dia|radius/.test(reading.unit) && <span class="unit"> {reading.unit}</span>}</dt>
          <dd>{withMinus(reading.value)}</dd>
        </div>
      ))}
    </dl>
  );
}

export function Places({ step, unit }: { step: StepScreen; unit: Unit }) {
  const done = ticked.value[step.number] ?? [];
  const atHand = step.places.findIndex((_, i) => !done.includes(i));
  return (
    <ol class="places" aria-label={`Places, in ${unit === "inch" ? "inches" : "mm"}`}>
      {step.places.map((place, i) => {
        const isDone = done.includes(i);
        return (
          <li key={i} class={i === atHand ? "at-hand" : isDone ? "done" : "to-come"}>
            <button type="button" aria-pressed={isDone} onClick={() => toggle(step.number, i)}>
              <span class="box" aria-hidden="true">{isDone ? "×" : ""}</span>
              <span class="name">{place.name}</span>
              <Readings place={place} />
            </button>
          </li>
        );
      })}
    </ol>
  );
}
