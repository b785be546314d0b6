// What was done and measured. An event is never changed: a later one says otherwise. This is the seam to the
// build log: what keeps the events is given from outside. No DOM here.

export type EventKind = "step_done" | "step_undone" | "reading";

export interface RecordEvent {
  id: string;
  time_ms: number;
  plan: string;
  kind: EventKind;
  step: string;
  // A reading: as typed, in the unit that stood beside it, and in mm.
  typed?: string;
  value_mm?: number;
  feature?: string;
  instrument?: string;
}

export interface Keeper {
  load(): RecordEvent[];
  // Throws when it cannot be kept.
  append(event: RecordEvent): void;
}

export interface Done { step: string; time_ms: number }
export interface State {
  done: Map<string, Done>;
  readings: Map<string, RecordEvent>;
  last: RecordEvent | undefined;
}

export function stateOf(events: RecordEvent[], plan: string): State {
  const state: State = { done: new Map(), readings: new Map(), last: undefined };
  for (const event of events) {
    if (event.plan !== plan) continue;
    if (event.kind === "reading") state.readings.set(event.step, event);
    else if (event.kind === "step_done") state.done.set(event.step, { step: event.step, time_ms: event.time_ms });
    else state.done.delete(event.step);
    state.last = event;
  }
  return state;
}

export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

interface Shelf { getItem(key: string): string | null; setItem(key: string, value: string): void }

// Events of one project on this device alone. What cannot be read is set aside, never written over.
export function deviceKeeper(shelf: Shelf, project: string): Keeper {
  const key = `fitwright-record/1:${project}`;
  const load = (): RecordEvent[] => {
    const text = shelf.getItem(key) ?? "[]";
    try {
      const kept: unknown = JSON.parse(text);
      if (Array.isArray(kept)) return kept as RecordEvent[];
    } catch {
      // Set aside below.
    }
    shelf.setItem(`${key}:unreadable`, text);
    return [];
  };
  return { load, append: (event) => shelf.setItem(key, JSON.stringify([...load(), event])) };
}
