// Where to go, place by place: the one at hand large enough to dial from at arm's length.
import { signal } from "@preact/signals";
import { withMinus, type Place, type StepScreen } from "../../core/sheet.ts";
import type { Unit } from "../../core/wire.ts";

// Places ticked in each step while the page is open; a step is done or not, its places are a help for the eye.
const ticked = signal<Record<string, number[]>>({});

// The place that was asked for, until it is ticked.
const wanted = signal<Record<string, number>>({});

// The one at hand is ticked and the next one comes; another one comes to hand, its tick taken back.
function touch(step: string, place: number, atHand: boolean): void {
  const now = ticked.value[step] ?? [];
  ticked.value = { ...ticked.value, [step]: atHand ? [...now, place] : now.filter((p) => p !== place) };
  wanted.value = { ...wanted.value, [step]: atHand ? place + 1 : place };
}

// From the one that was asked for onward, then from the first.
function atHandOf(step: StepScreen, done: number[]): number {
  const from = wanted.value[step.number] ?? 0;
  const open = step.places.map((_, i) => i).filter((i) => !done.includes(i));
  return open.find((i) => i >= from) ?? open[0] ?? -1;
}

// As wide as the widest of their column, so that they stand on the point.
function widthsOf(places: Place[]): number[] {
  const columns = Math.max(...places.map((place) => place.readings.length));
  return Array.from({ length: columns }, (_, c) => Math.max(...places.map((place) => place.readings[c]?.value.length ?? 0)));
}

function Readings({ place, widths }: { place: Place; widths: number[] }) {
  return (
    <dl class="readings">
      {place.readings.map((reading, i) => (
        <div key={i}>
          <dt>{reading.axis}{/dia|radius/.test(reading.unit) && <span class="unit"> {reading.unit}</span>}</dt>
          <dd style={{ minWidth: `${widths[i] ?? 0}ch` }}>{withMinus(reading.value)}</dd>
        </div>
      ))}
    </dl>
  );
}

export function Places({ step, unit }: { step: StepScreen; unit: Unit }) {
  const done = ticked.value[step.number] ?? [];
  const atHand = atHandOf(step, done);
  const widths = widthsOf(step.places);
  return (
    <ol class="places" aria-label={`Places, in ${unit === "inch" ? "inches" : "mm"}`} style={{ "--name": `${Math.max(...step.places.map((place) => place.name.length), 2)}` }}>
      {step.places.map((place, i) => {
        const isDone = done.includes(i);
        return (
          <li key={i} class={i === atHand ? "at-hand" : isDone ? "done" : "to-come"}>
            <button type="button" aria-pressed={isDone} onClick={() => touch(step.number, i, i === atHand)}>
              <span class="box" aria-hidden="true">{isDone ? "×" : ""}</span>
              <span class="name">{place.name}</span>
              <Readings place={place} widths={widths} />
            </button>
          </li>
        );
      })}
    </ol>
  );
}
