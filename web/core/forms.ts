// Forms for what stands in a sheet (docs/FORMATS.md): what is asked, and the table that the answers make. No DOM here.
import type { SheetTable, SheetValue } from "./wire.ts";

export type FieldType =
  | "name" | "text" | "length" | "lengths" | "places" | "limits" | "side" | "count" | "choice" | "feature" | "thread" | "depth" | "minutes";
export interface Field {
  key: string;
  label: string;
  type: FieldType;
  hint?: string;
  optional?: boolean;
  options?: { value: string; text: string }[];
  // Of "feature": kinds that may be named; all where it is left out.
  kinds?: string[];
}
export interface Form { kind: string; title: string; say: string; fields: Field[] }
export type Typed = { [key: string]: string };

export const sides = ["+z", "-z", "+x", "-x", "+y", "-y"];

// "12.5" is a number in the sheet's unit, "1/2 in" and arithmetic a text.
export function lengthOf(typed: string): SheetValue {
  const text = typed.trim().replace(/^\u2212/, "-").replace(/^(-?\d*),(\d+)$/, "$1.$2");
  return /^-?(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : text;
}
// "0, 12": two or three lengths, with commas where one carries its unit.
export function lengthsOf(typed: string): SheetValue[] {
  return typed.split(typed.includes(",") ? /,/ : /\s+/).map((piece) => piece.trim()).filter((piece) => piece !== "").map(lengthOf);
}
export function nameOf(typed: string): string {
  return typed.trim().toLowerCase().replace(/[^a-z0-9]+/g, "_").replace(/^_+|_+$/g, "");
}

// "H7", "0.02" either way, "24.9 to 25.1", "-0.1, 0" from the size.
export function limitsOf(typed: string): { [key: string]: SheetValue } {
  const text = typed.trim();
  if (text === "") return {};
  if (/^[A-Za-z]{1,2}\d{1,2}$/.test(text)) return { fit: text };
  const between = /^(.+?)\s+to\s+(.+)$/.exec(text);
  if (between) return { limits: [lengthOf(between[1] ?? ""), lengthOf(between[2] ?? "")] };
  const pair = text.split(/\s*,\s*/);
  if (pair.length === 2) return { deviations: pair.map(lengthOf) };
  return { plus_minus: lengthOf(text.replace(/^(\u00b1|\+\/?-)\s*/, "")) };
}

// One place a line or between semicolons; one place is `at`, several are `points`.
export function placesOf(typed: string): { [key: string]: SheetValue } {
  const places = typed.split(/[;\n]+/).map((place) => lengthsOf(place)).filter((place) => place.length > 0);
  const [first] = places;
  if (!first) return {};
  return places.length === 1 ? { at: first } : { points: places };
}

function answerOf(field: Field, typed: string): { [key: string]: SheetValue } {
  switch (field.type) {
    case "length": return { [field.key]: lengthOf(typed) };
    case "lengths": return { [field.key]: lengthsOf(typed) };
    case "count":
    case "minutes": return { [field.key]: Number(typed) };
    case "places": return placesOf(typed);
    case "limits": return limitsOf(typed);
    case "name": return { [field.key]: nameOf(typed) };
    case "depth": return { [field.key]: lengthOf(typed) };
    default: return { [field.key]: typed.trim() };
  }
}

// The first thing that is missing, in words.
export function missingIn(form: Form, typed: Typed): string | undefined {
  const field = form.fields.find((one) => {
    const text = (typed[one.key] ?? "").trim();
    if (text === "") return !one.optional && one.type !== "depth";
    return (one.type === "count" || one.type === "minutes") && !/^\d+(\.\d+)?$/.test(text);
  });
  return field && `${field.label} is wanted`;
}

// Zero and sense of a circle's angles, seen from the side that the tool comes from.
function circleOf(from: string, typed: Typed): { [key: string]: SheetValue } {
  const axis = from.slice(1);
  const [zero, towards] = axis === "z" ? ["+x", "+y"] : axis === "x" ? ["+y", "+z"] : ["+x", "+z"];
  return {
    circle: {
      diameter: lengthOf(typed["circle_diameter"] ?? ""), count: Number(typed["circle_count"]),
      first: Number(typed["circle_first"] || "0"), zero, towards,
    },
  };
}

// What the answers say together, beyond field by field.
function special(form: Form, typed: Typed): { [key: string]: SheetValue } {
  const given = (key: string): boolean => (typed[key] ?? "").trim() !== "";
  const more: { [key: string]: SheetValue } = {};
  if (form.fields.some((field) => field.type === "depth") && !given("depth")) more["through"] = true;
  if (given("circle_count")) Object.assign(more, circleOf(typed["from"] ?? "+z", typed));
  if (given("screw_thread")) more["screw"] = { thread: typed["screw_thread"] ?? "", length: lengthOf(typed["screw_length"] ?? "") };
  if (given("least_limit")) more["limits"] = [lengthOf(typed["least_limit"] ?? ""), lengthOf(typed["greatest_limit"] ?? "")];
  if (given("pin_diameter")) more["pin"] = { diameter: lengthOf(typed["pin_diameter"] ?? ""), fit: "m6" };
  return more;
}

const ofItself = /^(circle|screw|pin)_|_limit$/;

export function tableOf(file: string, table: string, form: Form, typed: Typed): SheetTable {
  const keys: { [key: string]: SheetValue } = {};
  for (const field of form.fields) {
    const text = (typed[field.key] ?? "").trim();
    if (text === "" || ofItself.test(field.key)) continue;
    Object.assign(keys, answerOf(field, text));
    if (field.key === "name") keys["kind"] = form.kind.split(" ")[0] ?? "";
  }
  return { file, table, keys: { ...keys, ...special(form, typed) } };
}
