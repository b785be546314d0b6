// A setup's sheet taken apart into what one screen shows at a time. No DOM here.
import type { Entry, Piece, Setup, Step, Table, Tick } from "./wire.ts";

// One place to go to: axis and reading, in the order they are dialled.
export interface Reading { axis: string; unit: string; value: string }
export interface Place { name: string; readings: Reading[] }

export interface StepScreen {
  number: string;
  step: Step | undefined;
  text: string;
  details: string[];
  cautions: string[];
  places: Place[];
  passes: { axis: string; readings: string[] };
  measured: boolean;
}

export interface SetupScreens {
  heading: string;
  right: string;
  preparing: Entry[];
  tools: Table | undefined;
  steps: StepScreen[];
  after: Entry[];
}

const boxMark = /\s*\[ \]$/;
const writeLine = /_{4,}/;

// Columns between "at" and the steps' own: X, Y, the table's turn.
function commonColumns(table: Table): number[] {
  return table.columns.flatMap((column, i) => (i > 0 && !/^\d+\.\d+ /.test(column.head) ? [i] : []));
}

function reading(table: Table, row: string[], column: number): Reading {
  const head = table.columns[column];
  return { axis: head?.head ?? "", unit: head?.unit ?? "", value: row[column] ?? "" };
}

// A hyphen is too short a minus to be read at arm's length.
export function withMinus(value: string): string {
  return value.replace(/^-(?=\d)/, "\u2212");
}

// The column of a step in a table that several steps share: its Z is in the head when all places have one.
function sharedReading(table: Table, row: string[], column: number): Reading {
  const head = table.columns[column];
  const inHead = /^Z (\S+)$/.exec(head?.unit ?? "");
  if (inHead) return { axis: "Z", unit: "", value: inHead[1] ?? "" };
  return { axis: "Z", unit: (head?.unit ?? "").replace(/^Z, /, ""), value: (row[column] ?? "").replace(boxMark, "") };
}

function placesOf(table: Table, stepNumber: string): Place[] {
  const own = table.columns.findIndex((column) => column.head.startsWith(stepNumber + " "));
  return table.rows.map((row) => {
    const readings = commonColumns(table).map((column) => reading(table, row, column));
    if (own >= 0) readings.push(sharedReading(table, row, own));
    return { name: row[0] ?? "", readings: readings.filter((r) => r.value !== "") };
  });
}

function isShared(table: Table): boolean {
  return table.columns.some((column) => /^\d+\.\d+ /.test(column.head));
}

// The table of a step: a shared one that names it, wherever it stands, else the one right below it.
function tableOf(pieces: Piece[], at: number, number: string): Table | undefined {
  for (const piece of pieces) {
    if (piece.kind === "table" && piece.columns.some((column) => column.head.startsWith(number + " "))) return piece;
  }
  const next = pieces[at + 1];
  return next?.kind === "table" && !isShared(next) ? next : undefined;
}

function stepScreen(pieces: Piece[], at: number, tick: Tick, step: Step | undefined): StepScreen {
  const table = tableOf(pieces, at, tick.number);
  const cautions = tick.details.filter((d) => d.startsWith("Caution: "));
  return {
    number: tick.number,
    step,
    text: tick.text,
    details: tick.details.filter((d) => !d.startsWith("Caution: ") && !/^Measured _+/.test(d)),
    cautions: cautions.map((d) => d.slice("Caution: ".length)),
    places: table ? placesOf(table, tick.number) : [],
    passes: { axis: tick.pass_axis, readings: tick.passes },
    measured: tick.details.some((d) => writeLine.test(d)) || step?.measure != null,
  };
}

export function screensOf(setup: Setup): SetupScreens {
  const pieces = setup.pieces;
  const head = pieces[0];
  const firstTick = pieces.findIndex((piece) => piece.kind === "tick");
  const beforeSteps = firstTick < 0 ? pieces : pieces.slice(0, firstTick);
  const ticks = pieces.flatMap((piece, i) => (piece.kind === "tick" ? [{ tick: piece, at: i }] : []));
  const entries = (list: Piece[]): Entry[] => list.filter((piece): piece is Entry => piece.kind === "entry");
  return {
    heading: head?.kind === "heading" ? head.text : "",
    right: head?.kind === "heading" ? head.right : "",
    preparing: entries(beforeSteps),
    tools: beforeSteps.find((piece): piece is Table => piece.kind === "table"),
    steps: ticks.map(({ tick, at }, i) => stepScreen(pieces, at, tick, setup.steps[i])),
    after: firstTick < 0 ? [] : entries(pieces.slice(firstTick)),
  };
}

// One thing to do a line: a text cut at the ends of its sentences.
export function sentencesOf(text: string): string[] {
  return text.split(/(?<=\.)\s+(?=[A-Z])/);
}
