// What was done and measured, as events that are only added: a later one says otherwise. What stands is the
// server's word, with what it has not got yet laid over it. No DOM here.
import type { Build, StandingReading, StepOnPiece, Verdict } from "./wire.ts";

export type EventKind = "step_done" | "step_undone" | "reading" | "reading_undone" | "note" | "part_remade" | "shop_change";

export interface RecordEvent {
  id: string;
  time_ms: number;
  build: number;
  plan: string;
  kind: EventKind;
  part: string;
  step: string;
  text: string;
  // A reading: as typed, in the unit that stood beside it, and in mm.
  value_mm?: number;
  typed?: string;
  instrument?: string;
}

export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export function placeKey(place: StepOnPiece): string {
  return `${place.step} ${place.part}`;
}

export interface Limits { lower_mm: number; upper_mm: number; mate_mm: number | null }
export interface Standing {
  done: Set<string>;
  readings: Map<string, StandingReading>;
  // Where they are not those of the step's measure line.
  limits: Map<string, Limits>;
}

export function emptyStanding(): Standing {
  return { done: new Set(), readings: new Map(), limits: new Map() };
}

// Limits by which a reading is judged before the server has said its word.
export type LimitsOf = (place: StepOnPiece) => { lower_mm: number; upper_mm: number } | undefined;

function verdictOf(value_mm: number, limits: ReturnType<LimitsOf>): Verdict {
  if (!limits) return "no_limits";
  const noise = 1e-9;
  if (value_mm > limits.upper_mm + noise) return "over";
  return value_mm < limits.lower_mm - noise ? "under" : "within";
}

function lay(event: RecordEvent, standing: Standing, limitsOf: LimitsOf): void {
  const key = placeKey(event);
  if (event.kind === "step_done") standing.done.add(key);
  if (event.kind === "step_undone") standing.done.delete(key);
  if (event.kind === "reading_undone") standing.readings.delete(key);
  if (event.kind === "part_remade") {
    for (const done of [...standing.done]) if (done.endsWith(` ${event.part}`)) standing.done.delete(done);
    for (const read of [...standing.readings.keys()]) if (read.endsWith(` ${event.part}`)) standing.readings.delete(read);
  }
  if (event.kind !== "reading" || event.value_mm === undefined) return;
  const verdict = verdictOf(event.value_mm, limitsOf(event));
  standing.readings.set(key, {
    step: event.step, part: event.part, id: event.id, value_mm: event.value_mm, typed: event.typed ?? "",
    instrument: event.instrument ?? "", time_ms: event.time_ms, verdict, say: [], ways: [], plan_anew: false,
  });
  if (verdict === "within") standing.done.add(key);
}

// `waiting`: events that the server has not got, in their order.
export function standingOf(build: Build | undefined, waiting: RecordEvent[], plan: string, limitsOf: LimitsOf): Standing {
  const standing = emptyStanding();
  if (build && build.plan === plan) {
    for (const done of build.done) standing.done.add(placeKey(done));
    for (const reading of build.readings) standing.readings.set(placeKey(reading), reading);
    for (const limits of build.limits) standing.limits.set(placeKey(limits), limits);
  }
  const known: LimitsOf = (place) => standing.limits.get(placeKey(place)) ?? limitsOf(place);
  for (const event of waiting) if (event.plan === plan) lay(event, standing, known);
  return standing;
}

// What takes events back, the last first. Words, a part begun anew, a change of the shop
// and what took a reading back stay.
export function undoOf(events: RecordEvent[], standing: Standing): { kind: EventKind; step: string; part: string }[] {
  const undo: { kind: EventKind; step: string; part: string }[] = [];
  if (events.some((event) => event.kind === "reading_undone")) return undo;
  for (const event of [...events].reverse()) {
    const at = { step: event.step, part: event.part };
    if (event.kind === "step_done") undo.push({ kind: "step_undone", ...at });
    if (event.kind === "step_undone") undo.push({ kind: "step_done", ...at });
    if (event.kind === "reading") {
      undo.push({ kind: "reading_undone", ...at });
      if (standing.done.has(placeKey(at))) undo.push({ kind: "step_undone", ...at });
    }
  }
  return undo;
}
