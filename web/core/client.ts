// Asking the server. No DOM here.
import type { RecordEvent } from "./record.ts";
import type {
  Book, Build, Checked, DrawingName, Drawings, Fault, Knobs, Learning, Lessen, PartPages, Planning, Project, SheetLine, SheetTable,
  ShopPages, Solids, SpreadDrawn, Unit, WhatIf,
} from "./wire.ts";

// status: 0 where there was no answer.
// kept: not the program's own answer, but its last one, kept by this device.
export type Answer<T> = { ok: true; value: T; kept: boolean } | { ok: false; faults: Fault[]; offline: boolean; status: number };

const silent: Fault = {
  code: "no_answer",
  message: "The program does not answer",
  value: "",
  remedy: "see whether 'fitwright serve' still runs; what is on this page stays",
  file: "",
  line: 0,
  column: 0,
  key: "",
};

function faultsOf(body: unknown): Fault[] {
  if (typeof body === "object" && body !== null && "errors" in body && Array.isArray(body.errors)) {
    return body.errors as Fault[];
  }
  return [{ ...silent, code: "no_sense", message: "The program's answer makes no sense", remedy: "load the page again" }];
}

async function ask<T>(address: string, options?: RequestInit): Promise<Answer<T>> {
  try {
    const response = await fetch(address, options);
    const body: unknown = await response.json();
    if (response.ok) return { ok: true, value: body as T, kept: response.headers.has("Fitwright-Kept") };
    return { ok: false, faults: faultsOf(body), offline: false, status: response.status };
  } catch {
    return { ok: false, faults: [silent], offline: true, status: 0 };
  }
}

export const askProject = (): Promise<Answer<Project>> => ask("/api/project");
export const askCheck = (): Promise<Answer<Checked>> => ask("/api/check");
export const askBuild = (build: number, unit: Unit): Promise<Answer<Build>> => ask(`/api/build?build=${build}&unit=${unit}`);
export const askBook = (unit: Unit): Promise<Answer<Book>> => ask(`/api/report?unit=${unit}`);

export const askParts = (unit: Unit): Promise<Answer<PartPages>> => ask(`/api/parts?unit=${unit}`);
export const askLearning = (build: number, unit: Unit): Promise<Answer<Learning>> => ask(`/api/learning?build=${build}&unit=${unit}`);
export const askShop = (unit: Unit): Promise<Answer<ShopPages>> => ask(`/api/shop?unit=${unit}`);
export const askDrawings = (setup: number, unit: Unit): Promise<Answer<Drawings>> => ask(`/api/drawings?setup=${setup}&unit=${unit}`);

export const askSolids = (setup: number): Promise<Answer<Solids>> => ask(`/api/solids?setup=${setup}&unit=mm`);

export function drawingAddress(setup: number, drawing: DrawingName, unit: Unit): string {
  return `/api/drawing?setup=${setup}&kind=${drawing.kind}&sheet=${drawing.sheet}&unit=${unit}`;
}

// What is written is shown this server's token; it has another each time it is started.
let token = "";
async function write<T>(address: string, type: string, body: BodyInit): Promise<Answer<T>> {
  for (let fresh = false; ; fresh = true) {
    if (token === "" || fresh) {
      const asked = await ask<{ token: string }>("/api/token");
      if (!asked.ok) return asked;
      token = asked.value.token;
    }
    const headers = { "Content-Type": type, "Fitwright-Token": token };
    const answer = await ask<T>(address, { method: "POST", headers, body });
    if (fresh || answer.ok || answer.status !== 403) return answer;
  }
}

export function postEvents(events: RecordEvent[], build: number, unit: Unit): Promise<Answer<Build>> {
  const body = JSON.stringify({ schema: "fitwright-events/1", events });
  return write(`/api/events?build=${build}&unit=${unit}`, "application/json", body);
}

// value "": the one there stays. confirm: what was proposed stands.
export function postEdit(file: string, line: SheetLine, value: string, confirm: boolean): Promise<Answer<Project>> {
  const body = { schema: "fitwright-edit/1", file, line: line.line, text: line.text, value, confirm };
  return write("/api/edit", "application/json", JSON.stringify(body));
}

// changes: KEY=VALUE, lengths in mm.
function asked(changes: string[], requirement: string): string {
  return JSON.stringify({ schema: "fitwright-asked/1", changes, requirement });
}
// Of which machine "what if" is asked: as it stands by its readings, or as planned.
export interface AskedOf { build: number; asPlanned: boolean; unit: Unit }
const which = (of: AskedOf): string => `build=${of.build}&unit=${of.unit}${of.asPlanned ? "&as-planned=yes" : ""}`;
export const askKnobs = (of: AskedOf): Promise<Answer<Knobs>> => ask(`/api/knobs?${which(of)}`);
export const askLessen = (of: AskedOf): Promise<Answer<Lessen>> => ask(`/api/lessen?${which(of)}`);
export function postWhatIf(changes: string[], of: AskedOf): Promise<Answer<WhatIf>> {
  return write(`/api/what-if?${which(of)}`, "application/json", asked(changes, ""));
}
export function postSpread(requirement: string, changes: string[], of: AskedOf): Promise<Answer<SpreadDrawn>> {
  return write(`/api/spread?${which(of)}`, "application/json", asked(changes, requirement));
}
export function postTables(tables: SheetTable[]): Promise<Answer<unknown>> {
  return write("/api/add", "application/json", JSON.stringify({ schema: "fitwright-addition/1", tables }));
}

export const askPlanning = (): Promise<Answer<Planning>> => ask("/api/planning");
export const postPlanning = (): Promise<Answer<Planning>> => write("/api/planning", "application/json", "{}");

const longestName = 60;
export function postStep(file: File, material: string): Promise<Answer<Project>> {
  const address = new URLSearchParams({ name: file.name.slice(-longestName), material });
  return write(`/api/read?${address.toString()}`, "application/octet-stream", file);
}

export async function postCode(code: string): Promise<Answer<unknown>> {
  return ask("/api/pair", { method: "POST", headers: { "Content-Type": "text/plain" }, body: code });
}
