// What the page knows: settings of this device, where the reader is, what the server said, what was recorded.
import { computed, effect, signal } from "@preact/signals";
import { askBook, askBuild, askCheck, askProject, type Answer } from "../core/client.ts";
import type { Book, Build, Checked, Fault, Project, Unit } from "../core/wire.ts";

export type Ground = "paper" | "night";
export type PageName = "overview" | "parts" | "order" | "machine" | "fit" | "shop" | "print";
// rest: what stands behind the page's name in the address.
export interface Place { page: PageName; rest: string[] }

const pages: PageName[] = ["overview", "parts", "order", "machine", "fit", "shop", "print"];

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
  const [name = "", ...rest] = hash.replace(/^#\/?/, "").split("/").map((piece) => decodeURIComponent(piece));
  return { page: pages.find((p) => p === name) ?? "overview", rest };
}
export function addressOf(page: PageName, ...rest: (string | number)[]): string {
  return ["#", page, ...rest.map((piece) => encodeURIComponent(piece))].join("/");
}
export function wholeAt(index: number): number | undefined {
  const text = place.value.rest[index] ?? "";
  return /^\d{1,4}$/.test(text) ? Number(text) : undefined;
}

export const place = signal<Place>(placeFrom(location.hash));
addEventListener("hashchange", () => {
  place.value = placeFrom(location.hash);
});

export const project = signal<Project | undefined>(undefined);
export const book = signal<Book | undefined>(undefined);
export const build = signal<Build | undefined>(undefined);
export const checked = signal<Checked | undefined>(undefined);
export const faults = signal<Fault[]>([]);
export const loading = signal(true);
export const offline = signal(false);
// The program does not know this device yet.
export const unpaired = signal(false);

export const unit = computed<Unit>(() => unitChosen.value ?? project.value?.unit ?? "mm");

function taken<T>(answer: Answer<T>): T | undefined {
  if (answer.ok) {
    offline.value = answer.kept;
    unpaired.value = false;
    return answer.value;
  }
  if (answer.status === 401) unpaired.value = true;
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
  const read = taken(await askProject());
  if (!read) {
    loading.value = false;
    return;
  }
  faults.value = [];
  project.value = read;
  const checking = askCheck().then((check) => {
    if (check.ok) checked.value = check.value;
  });
  if (read.plan === "none") {
    loading.value = false;
    await checking;
    return;
  }
  await Promise.all([loadBook(unit.value), loadBuild(), checking]);
}

export const buildNumber = signal(1);
export async function loadBuild(): Promise<void> {
  const answer = await askBuild(buildNumber.value, unit.value);
  if (answer.ok) build.value = answer.value;
}

export function chooseUnit(chosen: Unit): void {
  unitChosen.value = chosen;
  keep("fitwright-unit", chosen);
  if (project.value && project.value.plan !== "none") void Promise.all([loadBook(chosen), loadBuild()]);
}
export function chooseGround(chosen: Ground): void {
  ground.value = chosen;
  keep("fitwright-ground", chosen);
}
effect(() => {
  document.documentElement.dataset["ground"] = ground.value;
});
