// Asking the server. No DOM here.
import type { Book, Checked, Fault, Project, Unit } from "./wire.ts";

export type Answer<T> = { ok: true; value: T } | { ok: false; faults: Fault[]; offline: boolean };

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

async function ask<T>(address: string): Promise<Answer<T>> {
  try {
    const response = await fetch(address);
    const body: unknown = await response.json();
    return response.ok ? { ok: true, value: body as T } : { ok: false, faults: faultsOf(body), offline: false };
  } catch {
    return { ok: false, faults: [silent], offline: true };
  }
}

export const askProject = (): Promise<Answer<Project>> => ask("/api/project");
export const askCheck = (): Promise<Answer<Checked>> => ask("/api/check");
export const askBook = (unit: Unit): Promise<Answer<Book>> => ask(`/api/report?unit=${unit}`);

export type DrawingKind = "setup" | "holes" | "cuts";
export function drawingAddress(setup: number, kind: DrawingKind, unit: Unit): string {
  return `/api/drawing?setup=${setup}&kind=${kind}&unit=${unit}`;
}
