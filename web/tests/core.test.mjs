// What the page reckons by itself: a sheet taken apart, sizes keyed in, what was recorded.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { after, before, test } from "node:test";
import { fileURLToPath, pathToFileURL } from "node:url";
import { gzipSync } from "node:zlib";
import { build } from "esbuild";
import { pageFiles } from "../build.mjs";

const web = join(dirname(fileURLToPath(import.meta.url)), "..");
const folder = mkdtempSync(join(tmpdir(), "fitwright-core-"));
const core = {};

before(async () => {
  const names = ["sheet", "size", "record", "progress"];
  await build({
    absWorkingDir: web, entryPoints: names.map((n) => `core/${n}.ts`), outdir: folder, format: "esm",
    outExtension: { ".js": ".mjs" }, logLevel: "warning",
  });
  for (const name of names) Object.assign(core, await import(pathToFileURL(join(folder, `${name}.mjs`)).href));
});
after(() => rmSync(folder, { recursive: true, force: true }));

const tick = (number, more = {}) => ({ kind: "tick", number, text: `do ${number}`, details: [], pass_axis: "", passes: [], ...more });
const column = (head, unit = "") => ({ head, unit, align: "left" });
const heading = { kind: "heading", level: 2, text: "Setup 7 of 9: body", right: "20 min   mm" };

function setupOf(pieces, steps) {
  return { id: "s07", number: 7, parts: ["body"], machine: "mill", time_min: 20, waits_for: [], steps, pieces };
}
const steps = (count) => Array.from({ length: count }, (_, i) => ({ id: `s07.${i + 1}`, operation: "drill", measure: null }));

test("places of steps that share a table: each has its own Z, in the head or in the row", () => {
  const table = {
    kind: "table",
    columns: [column("at"), column("X", "mm"), column("Y", "mm"), column("7.1 spot", "Z -1.500"), column("7.2 drill", "Z, mm")],
    rows: [["1", "10.000", "-4.000", "[ ]", "-8.000 [ ]"], ["2", "20.000", "-4.000", "[ ]", "-9.000 [ ]"]],
  };
  const screens = core.screensOf(setupOf([heading, tick("7.1"), tick("7.2"), table], steps(2)));
  assert.equal(screens.steps.length, 2);
  assert.deepEqual(screens.steps[0].places[1].readings.map((r) => [r.axis, r.value]), [["X", "20.000"], ["Y", "-4.000"], ["Z", "-1.500"]]);
  assert.deepEqual(screens.steps[1].places[1].readings.map((r) => [r.axis, r.value]), [["X", "20.000"], ["Y", "-4.000"], ["Z", "-9.000"]]);
  assert.equal(screens.steps[1].step.id, "s07.2");
});

test("a table of its own belongs to the step above it and to no other", () => {
  const own = { kind: "table", columns: [column("at"), column("X", "mm dia."), column("Z", "mm")], rows: [["from", "30.000", "1.000"]] };
  const screens = core.screensOf(setupOf([heading, tick("7.1"), own, tick("7.2")], steps(2)));
  assert.deepEqual(screens.steps[0].places[0].readings, [
    { axis: "X", unit: "mm dia.", value: "30.000" }, { axis: "Z", unit: "mm", value: "1.000" }]);
  assert.deepEqual(screens.steps[1].places, []);
});

test("step 7.1 is not step 7.10", () => {
  const table = { kind: "table", columns: [column("at"), column("X", "mm"), column("7.10 drill", "Z -2.000")], rows: [["1", "5.000", "[ ]"]] };
  const screens = core.screensOf(setupOf([heading, tick("7.1"), tick("7.10"), table], steps(2)));
  assert.deepEqual(screens.steps[0].places, []);
  assert.equal(screens.steps[1].places[0].readings[1].value, "-2.000");
});

test("cautions and lines to write on are taken out of the details; entries stand before and after", () => {
  const entry = (label, text) => ({ kind: "entry", label, text, tone: "plain" });
  const screens = core.screensOf(setupOf([
    heading, entry("Held", "Vise."), tick("7.1", { details: ["20 mm end mill.", "Caution: Slow.", "Measured ________ mm"] }), entry("Note", "Leave it in.")], steps(1)));
  assert.deepEqual(screens.steps[0].details, ["20 mm end mill."]);
  assert.deepEqual(screens.steps[0].cautions, ["Slow."]);
  assert.equal(screens.steps[0].measured, true);
  assert.deepEqual(screens.preparing.map((e) => e.label), ["Held"]);
  assert.deepEqual(screens.after.map((e) => e.label), ["Note"]);
});

test("a minus that can be read, one sentence a line", () => {
  assert.equal(core.withMinus("-46.768"), "\u221246.768");
  assert.equal(core.withMinus("30 to 31-32"), "30 to 31-32");
  assert.deepEqual(core.sentencesOf("Set x to -5.000 mm. Then z: touch on. z is 0."), ["Set x to -5.000 mm.", "Then z: touch on. z is 0."]);
});

test("sizes as they are keyed in", () => {
  for (const [typed, unit, mm] of [["40.03", "mm", 40.03], ["1.576", "inch", 40.0304], [".5", "mm", 0.5], ["7.", "mm", 7], ["0", "mm", 0]]) {
    assert.ok(Math.abs(core.sizeFrom(typed, unit) - mm) < 1e-9, typed);
  }
  for (const typed of ["", ".", "1.2.3", "-1", "1e3", "4a", " 4", "123456", "1.123456"]) assert.equal(core.sizeFrom(typed, "mm"), undefined, typed);
  assert.equal(core.sizeText(40.0304, "inch"), "1.5760");
  assert.equal(core.sizeText(40.03, "mm"), "40.030");
});

test("a size against its limits, in words", () => {
  assert.deepEqual(core.verdict(40.03, 40, 40.025, "mm"), { word: "over the upper limit by 0.005 mm", within: false });
  assert.deepEqual(core.verdict(39.9, 40, 40.025, "inch"), { word: "under the lower limit by 0.0039 in", within: false });
  assert.equal(core.verdict(40.025, 40, 40.025, "mm").within, true);
  assert.equal(core.verdict(0.1 + 0.2, 0, 0.3, "mm").within, true, "rounding is no fault");
});

test("the record only grows, and a later event says otherwise", () => {
  const kept = new Map();
  const shelf = { getItem: (key) => kept.get(key) ?? null, setItem: (key, value) => kept.set(key, value) };
  const keeper = core.deviceKeeper(shelf, "pump");
  const event = (kind, step, more = {}) => ({ id: core.newId(), time_ms: 1, plan: "p", kind, step, ...more });
  for (const e of [event("step_done", "a"), event("step_done", "b"), event("step_undone", "a"),
    event("reading", "b", { value_mm: 4 }), event("reading", "b", { value_mm: 5 }), { ...event("step_done", "c"), plan: "other" }]) keeper.append(e);
  const state = core.stateOf(core.deviceKeeper(shelf, "pump").load(), "p");
  assert.deepEqual([...state.done.keys()], ["b"]);
  assert.equal(state.readings.get("b").value_mm, 5);
  assert.equal(keeper.load().length, 6);
  assert.equal(core.deviceKeeper(shelf, "engine").load().length, 0);
  assert.match(core.newId(), /^[0-9a-f]{32}$/);
  kept.set([...kept.keys()][0], "{ torn");
  keeper.append(event("step_done", "d"));
  assert.deepEqual(keeper.load().map((e) => e.step), ["d"]);
  assert.equal([...kept.entries()].find(([key]) => key.endsWith(":unreadable"))[1], "{ torn", "set aside");
});

test("next is the first step that is not done, and what is awaited is named", () => {
  const a = { ...setupOf([], [{ id: "a1" }, { id: "a2" }]), number: 1 };
  const b = { ...setupOf([], [{ id: "b1" }]), number: 2, waits_for: [1] };
  const book = { setups: [a, b] };
  const done = (...ids) => new Map(ids.map((step) => [step, { step, time_ms: 0 }]));
  assert.deepEqual(core.nextOf(book, done("a1")), { setup: a, index: 1 });
  assert.deepEqual(core.nextOf(book, done("a1", "a2")), { setup: b, index: 0 });
  assert.equal(core.nextOf(book, done("a1", "a2", "b1")), undefined);
  assert.deepEqual(core.stillAwaited(book, b, done("a1")), [1]);
  assert.deepEqual(core.stillAwaited(book, b, done("a1", "a2")), []);
});

test("the scripts take under 200 kB on the wire, and the page holds none of its own", async () => {
  const files = await pageFiles();
  const scripts = files.filter((f) => f.path.endsWith(".js"));
  const bytes = scripts.reduce((sum, f) => sum + gzipSync(f.bytes).length, 0);
  assert.ok(bytes > 1000 && bytes < 200_000, `${bytes} bytes`);
  const page = files.find((f) => f.path === "/").bytes.toString();
  assert.ok(!/<script(?![^>]*\bsrc=)/.test(page) && !/\son\w+=/.test(page) && !/style=/.test(page));
});
