// What the page knows: settings of this device, where the reader is, what the server said, what was recorded.
import { computed, effect, signal } from "@preact/signals";
import { askBook, askCheck, askProject, type Answer } from "../core/client.ts";
import { deviceKeeper, newId, stateOf, type EventKind, type Keeper, type RecordEvent } from "../core/record.ts";
import type { Book, Checked, Fault, Project, Unit } from "../core/wire.ts";

export type Ground = "paper" | "night";
export type PageName = "overview" | "order" | "machine" | "fit";
export interface Place { page: PageName; setup: number; screen: number }

const pages: PageName[] = ["overview", "order", "machine", "fit"];

function kept(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

function keep(key: string, value: string): void {
  try {
    localStorage.setItem(key, value);
  } catch {
    // A browser that keeps nothing forgets the setting; nothing else is lost.
  }
}

export const unitChosen = signal<Unit | undefined>(
  kept("fitwright-unit") === "inch" ? "inch" : kept("fitwright-unit") === "mm" ? "mm" : undefined,
);
export const ground = signal<Ground>(
  kept("fitwright-ground") === "night" ||
    (kept("fitwright-ground") === null && matchMedia("(prefers-color-scheme: dark)").matches)
    ? "night"
    : "paper",
);

export function placeFrom(hash: string): Place {
  const [name = "", setup = "", screen = ""] = hash.replace(/^#\/?/, "").split("/");
  const page = pages.find((p) => p === name) ?? "overview";
  const whole = (text: string, otherwise: number): number => (/^\d{1,4}$/.test(text) ? Number(text) : otherwise);
  return { page, setup: whole(setup, 0), screen: whole(screen, 0) };
}
export function addressOf(page: PageName, setup?: number, screen?: number): string {
  return `#/${page}${setup === undefined ? "" : `/${setup}/${screen ?? 0}`}`;
}

export const place = signal<Place>(placeFrom(location.hash));
addEventListener("hashchange", () => {
  place.value = placeFrom(location.hash);
});

export const project = signal<Project | undefined>(undefined);
export const book = signal<Book | undefined>(undefined);
export const checked = signal<Checked | undefined>(undefined);
export const faults = signal<Fault[]>([]);
export const loading = signal(true);
export const offline = signal(false);

export const unit = computed<Unit>(() => unitChosen.value ?? project.value?.unit ?? "mm");

function taken<T>(answer: Answer<T>): T | undefined {
  if (answer.ok) {
    offline.value = false;
    return answer.value;
  }
  offline.value = answer.offline;
  if (!answer.offline || book.value === undefined) faults.value = answer.faults;
  return undefined;
}

async function loadBook(wanted: Unit): Promise<void> {
  const read = taken(await askBook(wanted));
  if (read && wanted === unit.value) book.value = read;
  loading.value = false;
}

// Asks for all again; what is shown stays until the answer is there.
export async function load(): Promise<void> {
  loading.value = true;
  faults.value = [];
  const read = taken(await askProject());
  if (!read) {
    loading.value = false;
    return;
  }
  project.value = read;
  const check = await askCheck();
  if (check.ok) checked.value = check.value;
  if (read.plan === "none") {
    loading.value = false;
    return;
  }
  await loadBook(unit.value);
}

export function chooseUnit(chosen: Unit): void {
  unitChosen.value = chosen;
  keep("fitwright-unit", chosen);
  if (project.value && project.value.plan !== "none") void loadBook(chosen);
}
export function chooseGround(chosen: Ground): void {
  ground.value = chosen;
  keep("fitwright-ground", chosen);
}
effect(() => {
  document.documentElement.dataset["ground"] = ground.value;
});

const events = signal<RecordEvent[]>([]);
export const notKept = signal(false);
let keeper: Keeper | undefined;
effect(() => {
  const name = project.value?.name;
  if (name === undefined) return;
  keeper = deviceKeeper(localStorage, name);
  events.value = keeper.load();
});
addEventListener("storage", () => {
  if (keeper) events.value = keeper.load();
});

export const recorded = computed(() => stateOf(events.value, book.value?.plan ?? ""));

export function record(kind: EventKind, step: string, more: Partial<RecordEvent> = {}): void {
  const plan = book.value?.plan;
  if (plan === undefined || keeper === undefined) return;
  const event: RecordEvent = { ...more, id: newId(), time_ms: Date.now(), plan, kind, step };
  try {
    keeper.append(event);
    notKept.value = false;
  } catch {
    notKept.value = true;
  }
  events.value = [...events.value, event];
}
