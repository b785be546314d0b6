// What the server sends, as src/fitwright/service/book_json.h says it. No DOM here.

export type Unit = "mm" | "inch";
export type Tone = "plain" | "note" | "look" | "stop";
export type Lane = "none" | "waiting" | "worked" | "joined";
export type Align = "left" | "right" | "point";

export interface Heading { kind: "heading"; level: number; text: string; right: string }
export interface Paragraph { kind: "paragraph"; text: string; tone: Tone }
export interface Entry { kind: "entry"; label: string; text: string; tone: Tone }
export interface Tick {
  kind: "tick";
  number: string;
  text: string;
  details: string[];
  pass_axis: string;
  passes: string[];
}
export interface Item { kind: "item"; text: string }
export interface Column { head: string; unit: string; align: Align }
export interface Table { kind: "table"; columns: Column[]; rows: string[][] }
export interface Tally { kind: "tally"; met: number }
export interface Bars { kind: "bars"; bars: { share: number; text: string }[] }
export interface OrderRow { lanes: Lane[]; number: string; text: string; right: string; waits: string[]; pause: string }
export interface Order { kind: "order"; parts: string[]; rows: OrderRow[] }
export type Piece = Heading | Paragraph | Entry | Tick | Item | Table | Tally | Bars | Order;

export interface Measure { feature: string; instrument: string; lower_mm: number; upper_mm: number }
export interface Step { id: string; operation: string; measure: Measure | null }
export interface Setup {
  id: string;
  number: number;
  parts: string[];
  machine: string;
  time_min: number;
  waits_for: number[];
  steps: Step[];
  pieces: Piece[];
}
export interface Spread {
  name: string;
  mean: number | null;
  sigma: number | null;
  lower: number | null;
  upper: number | null;
}

export interface Book {
  schema: "fitwright-book/1";
  unit: Unit;
  plan: string;
  older_than_sheets: boolean;
  setups: Setup[];
  overview: Piece[];
  joints: Piece[];
  fit: Piece[];
  assumed: Piece[];
  cautions: Piece[];
  spreads: Spread[];
}

export interface Project {
  schema: "fitwright-project/1";
  name: string;
  unit: Unit;
  version: string;
  shop: string;
  parts: { name: string; material: string }[];
  plan: "none" | "current" | "older";
  plan_hash: string;
  sheets_hash: string;
  warnings: string[];
  cautions: string[];
}

export interface Fault {
  code: string;
  message: string;
  value: string;
  remedy: string;
  file: string;
  line: number;
  column: number;
  key: string;
}

export interface Finding { rule: string; where: string; file: string; line: number; say: string; remedy: string }
export interface Checked { ok: boolean; findings: Finding[]; assumed: string[] }
