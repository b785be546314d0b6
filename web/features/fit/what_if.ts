// What is changed for the sake of asking, and what the program says of it. Nothing of it is written anywhere.
import { computed, effect, signal } from "@preact/signals";
import { book, build, buildNumber, place, unit } from "../../app/state.ts";
import { askKnobs, askLessen, postWhatIf, type AskedOf } from "../../core/client.ts";
import type { BeforeAfter, Fault, Knob, Lessen, WhatIf } from "../../core/wire.ts";

export const knobs = signal<Knob[]>([]);
// By key, in the knob's own unit.
export const changed = signal<ReadonlyMap<string, number>>(new Map());
export const answer = signal<WhatIf | undefined>(undefined);
export const fault = signal<Fault | undefined>(undefined);
export const lessen = signal<Lessen | undefined>(undefined);
export const asking = signal(false);
// Readings that what is asked goes by; asked as planned whatever was read.
export const byReadings = signal(0);
export const asItStands = signal("");
export const asPlanned = signal(false);

export const askedOf = computed<AskedOf>(() => ({ build: buildNumber.value, asPlanned: asPlanned.value, unit: unit.value }));
// Another one: what was said is no longer so.
export const askedKey = computed(() => `${JSON.stringify(askedOf.value)} ${JSON.stringify((build.value?.readings ?? []).map((one) => one.id))}`);

export const changes = computed(() => [...changed.value].map(([key, value]) => `${key}=${value}`));

// A small slip of the floating point is no change.
const same = (a: number, b: number): boolean => Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(a));

export function turn(knob: Knob, value: number): void {
  const next = new Map(changed.value);
  if (same(value, knob.now)) next.delete(knob.key);
  else next.set(knob.key, value);
  changed.value = next;
}
export function takeBack(key: string): void {
  const next = new Map(changed.value);
  next.delete(key);
  changed.value = next;
}
export function takeAllBack(): void {
  changed.value = new Map();
}
export function valueOf(knob: Knob): number {
  return changed.value.get(knob.key) ?? knob.now;
}

export function saidOf(name: string): BeforeAfter | undefined {
  const one = answer.value?.requirements.find((requirement) => requirement.name === name);
  return one && one.before.text !== one.after.text ? one : undefined;
}

// One question at a time; what was turned meanwhile is asked next.
const question = (): string => `${changes.value.join("\n")} ${askedKey.value}`;
let under = "";
async function ask(): Promise<void> {
  if (asking.value) return;
  asking.value = true;
  for (;;) {
    under = question();
    const said = changes.value.length > 0 ? await postWhatIf(changes.value, askedOf.value) : undefined;
    if (under !== question()) continue;
    fault.value = said && !said.ok ? said.faults[0] : undefined;
    if (!said || said.ok) answer.value = said?.value;
    break;
  }
  asking.value = false;
}

effect(() => {
  if (question() !== under) void ask();
});

// The knobs are those of the plan that is shown.
let of = "";
effect(() => {
  const now = `${book.value?.plan ?? ""} ${book.value?.older_than_sheets} ${askedKey.value}`;
  if (!book.value || place.value.page !== "fit" || now === of) return;
  const anew = of !== "" && of.split(" ")[0] !== book.value.plan;
  of = now;
  lessen.value = undefined;
  if (anew) takeAllBack();
  void askKnobs(askedOf.value).then((said) => {
    if (!said.ok) return;
    knobs.value = said.value.knobs;
    byReadings.value = said.value.by_readings;
    asItStands.value = said.value.all.text;
  });
});

export async function findLessenings(): Promise<void> {
  if (lessen.value) return;
  const said = await askLessen(askedOf.value);
  if (said.ok) lessen.value = said.value;
  else fault.value = said.faults[0];
}
