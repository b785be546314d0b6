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
  // The piece; of several alike each. "" for a setup without parts.
  copies: string[];
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
  folder: string;
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

export type Verdict = "within" | "under" | "over" | "no_limits";
export interface StepOnPiece { step: string; part: string }
// Out of a size outside its limits; then: what it leaves the step, or the piece, as.
export interface WayOut { then: "done" | "open" | "remade"; say: string }
export interface StandingReading extends StepOnPiece {
  id: string;
  value_mm: number;
  typed: string;
  instrument: string;
  time_ms: number;
  verdict: Verdict;
  say: string[];
  ways: WayOut[];
  plan_anew: boolean;
}
export interface StandingLimits extends StepOnPiece { lower_mm: number; upper_mm: number; mate_mm: number | null }
// A size still to be cut, by all that was read.
export interface ToBring extends StepOnPiece { lower_mm: number; upper_mm: number; say: string }
export interface NextStep extends StepOnPiece { setup: number; waits: string[] }
export interface Lately { number: number; time_ms: number; part: string; step: string; what: string }
export interface Kept { id: string; as: "event" | "known" | "note" | "refused"; say: string[] }

// What stands by the build log, as src/fitwright/service/build_desk_json.h says it.
export interface Build {
  schema: "fitwright-build/1";
  build: number;
  last: number;
  sign: string;
  plan: string;
  kept: Kept[];
  steps: number;
  done: (StepOnPiece & { time_ms: number })[];
  readings: StandingReading[];
  limits: StandingLimits[];
  bring: ToBring[];
  next: NextStep | null;
  meanwhile: NextStep | null;
  elsewhere: string[];
  lately: Lately[];
}

// src/fitwright/service/part_pages.h
export interface SheetLine {
  line: number;
  table: string;
  key: string;
  value: string;
  remark: string;
  proposed: boolean;
  text: string;
}
export interface PartPage { name: string; file: string; quantity: number; pieces: Piece[]; lines: SheetLine[] }
export interface PartPages {
  schema: "fitwright-parts/1";
  unit: Unit;
  parts: PartPage[];
  machine: { file: string; lines: SheetLine[] };
}
export interface ShopPages { schema: "fitwright-shop-page/1"; unit: Unit; name: string; pieces: Piece[] }
// src/fitwright/service/lessons_use.h
export interface Learning { schema: "fitwright-learning/1"; readings_used: number; pieces: Piece[]; shop_lines: string; tests: Piece[] }
export interface DrawingName { kind: "setup" | "holes" | "cuts"; sheet: number }
export interface Drawings { schema: "fitwright-drawings/1"; setup: number; drawings: DrawingName[] }
export interface Planning { schema: "fitwright-planning/1"; state: "none" | "running" | "done" | "failed"; since_ms: number; say: string }

// src/fitwright/service/what_if_desk.h
export type KnobKind = "spread" | "limit" | "clearance" | "aim";
export interface Knob {
  key: string;
  kind: KnobKind;
  say: string;
  unit: string;
  now: number;
  weight: number;
  steps: { word: string; value: number }[];
}
export interface Knobs {
  schema: "fitwright-knobs/1";
  by_readings: number;  // by which what is asked is reckoned; 0: as planned
  all: ChanceSaid;
  knobs: Knob[];
}
export interface ChanceSaid { odds: number; low: number; high: number; met: number; text: string }
export interface BeforeAfter { before: ChanceSaid; after: ChanceSaid }
export interface WhatIf {
  schema: "fitwright-what-if/1";
  builds: number;
  by_readings: number;  // that count; 0: as planned
  changes: { key: string; say: string; unit: string; from: number; to: number }[];
  all: BeforeAfter;
  requirements: (BeforeAfter & { name: string })[];
}
export interface SpreadDrawn {
  schema: "fitwright-spread/1";
  requirement: string;
  axis: string;
  source: string;
  decimals: number;
  edges: number[];
  before: number[];
  edges_after: number[];
  after: number[];
  lower: number | null;
  upper: number | null;
  lower_text: string;
  upper_text: string;
}
export interface Lessen {
  schema: "fitwright-lessen/1";
  misses: number;
  lessen: { key: string; to: number; say: string; effects: string; saves: string }[];
}

// src/fitwright/files/page_asked_json.h
export type SheetValue = string | number | boolean | SheetValue[] | { [key: string]: SheetValue };
export interface SheetTable { file: string; table: string; keys: { [key: string]: SheetValue } }

// src/fitwright/sheets/solid/solid_view.h
export interface SolidBody { role: "before" | "after" | "holding"; points: number[]; triangles: number[]; edges: number[][] }
export interface Solids { schema: "fitwright-solids/1"; lathe: boolean; bodies: SolidBody[] }
