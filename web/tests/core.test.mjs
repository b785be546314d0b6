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
  const names = ["sheet", "size", "record", "progress", "queue", "sender", "forms", "feature_forms", "part_forms"];
  await build({
    absWorkingDir: web, bundle: true, entryPoints: names.map((n) => `core/${n}.ts`), outdir: folder, format: "esm",
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

test("passes are said once, and a sum keeps its minus with its number", () => {
  const details = ["16 mm boring bar, 180 rpm, depth 0.2 mm; 2 passes, to X 23.781 and 23.981.", "Length = float - 0.085 = ____ mm"];
  const screens = core.screensOf(setupOf([heading, tick("7.1", { details, pass_axis: "X", passes: ["23.781", "23.981"] }), tick("7.2", { details })], steps(2)));
  assert.deepEqual(screens.steps[0].details, ["16 mm boring bar, 180 rpm, depth 0.2 mm.", "Length = float \u2212\u00a00.085 = ____ mm"]);
  assert.equal(screens.steps[1].details[0], details[0]);
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

const event = (kind, step, more = {}) => ({
  id: core.newId(), time_ms: 1, build: 1, plan: "p", kind, part: "ring", step, text: "", ...more });
const stands = (more = {}) => ({ plan: "p", done: [], readings: [], limits: [], kept: [], ...more });

test("what waits on this device is laid over what the server says", () => {
  const build = stands({
    done: [{ step: "a", part: "ring" }, { step: "b", part: "ring" }],
    readings: [{ step: "b", part: "ring", value_mm: 3, say: [] }],
    limits: [{ step: "c", part: "ring", lower_mm: 5, upper_mm: 6, mate_mm: null }],
  });
  const limitsOf = () => ({ lower_mm: 1, upper_mm: 2 });
  const waiting = [event("step_undone", "a"), event("reading_undone", "b"), event("reading", "c", { value_mm: 5.5 }),
    event("reading", "d", { value_mm: 5.5 }), { ...event("step_done", "e"), plan: "other" }, event("step_done", "a", { part: "ring#2" })];
  const standing = core.standingOf(build, waiting, "p", limitsOf);
  assert.deepEqual([...standing.done].sort(), ["a ring#2", "b ring", "c ring"]);
  assert.deepEqual([...standing.readings.keys()], ["c ring", "d ring"]);
  assert.equal(standing.readings.get("c ring").verdict, "within", "by the server's limits where it has others");
  assert.equal(standing.readings.get("d ring").verdict, "over");
  assert.deepEqual([...core.standingOf(build, [event("part_remade", "")], "p", limitsOf).done], []);
  assert.equal(core.standingOf(build, [], "q", limitsOf).done.size, 0, "another plan's steps are others");
  assert.match(core.newId(), /^[0-9a-f]{32}$/);
});

test("what is undone, the last first", () => {
  const standing = core.standingOf(stands({ done: [{ step: "a", part: "ring" }] }), [], "p", () => undefined);
  const kinds = (...events) => core.undoOf(events, standing).map((one) => `${one.kind} ${one.step}`);
  assert.deepEqual(kinds(event("step_done", "a")), ["step_undone a"]);
  assert.deepEqual(kinds(event("reading", "a")), ["reading_undone a", "step_undone a"]);
  assert.deepEqual(kinds(event("reading", "b"), event("step_undone", "c")), ["step_done c", "reading_undone b"]);
  assert.deepEqual(kinds(event("note", "a"), event("part_remade", "")), []);
  assert.deepEqual(kinds(event("reading_undone", "a"), event("step_undone", "a")), []);
});

// A server that answers as it is told to, and remembers what it took.
function sending(answers) {
  const queue = core.fleetingQueue();
  const took = [];
  const told = [];
  const later = [];
  const post = async (events) => {
    const answer = answers.shift() ?? "take";
    if (typeof answer === "function") return answer(events);
    if (answer !== "take") return { ok: false, faults: [{ message: `status ${answer}` }], offline: answer === 0, status: answer };
    took.push(...events.map((one) => one.step));
    return { ok: true, kept: false, value: stands({ kept: events.map(({ id }) => ({ id, as: "event", say: [] })) }) };
  };
  const sender = core.makeSender({
    queue, post, later: (work) => later.push(work), told: (build, waiting, refused, offline) => told.push({ build, waiting, refused, offline }),
  });
  return { sender, queue, took, told, later };
}

test("events go in their order, and wait while nobody answers", async () => {
  const { sender, queue, took, told, later } = sending([0, 503, "take"]);
  await sender.add([event("note", "1"), event("note", "2")]);
  await sender.send();
  assert.deepEqual(took, []);
  assert.equal(told.at(-1).offline, true);
  assert.equal((await queue.load()).waiting.length, 2);
  await sender.add([event("note", "3")]);
  await sender.send();
  while (later.length > 0) later.shift()();
  await sender.send();
  assert.deepEqual(took, ["1", "2", "3"]);
  assert.deepEqual(told.at(-1).waiting, []);
  assert.equal(told.at(-1).offline, false);
});

test("one that is not to be taken is set aside, and the others go on", async () => {
  const taken = [];
  const judge = async (events) => {
    if (events.some((one) => one.step === "bad")) return { ok: false, faults: [{ message: "no" }], offline: false, status: 422 };
    taken.push(...events.map((one) => one.step));
    const kept = events.map(({ id, step }) => ({ id, as: step === "odd" ? "refused" : "event", say: ["odd"] }));
    return { ok: true, kept: false, value: stands({ kept }) };
  };
  const { sender, queue } = sending(Array(9).fill(judge));
  await sender.add(["a", "bad", "odd", "b"].map((step) => event("note", step)));
  await sender.send();
  assert.deepEqual(taken, ["a", "odd", "b"]);
  const { waiting, refused } = await queue.load();
  assert.deepEqual(waiting, []);
  assert.deepEqual(refused.map((one) => [one.event.step, one.say]), [["bad", "no"], ["odd", "odd"]]);
});

test("what the device cannot keep is kept while the page is open", async () => {
  let failed = 0;
  const full = { ...core.fleetingQueue(), add: async () => { throw new Error("full"); } };
  const queue = core.sturdyQueue(full, core.fleetingQueue(), () => { ++failed; });
  const one = event("note", "1");
  await queue.add([one]);
  assert.deepEqual((await queue.load()).waiting, [one]);
  assert.equal(failed, 1);
  await queue.remove([one.id]);
  assert.deepEqual((await queue.load()).waiting, []);
});

test("next is the first step that is not done on each piece, and what is awaited is named", () => {
  const a = { ...setupOf([], [{ id: "a1" }, { id: "a2" }]), number: 1, copies: ["ring", "ring#2"] };
  const b = { ...setupOf([], [{ id: "b1" }]), number: 2, copies: ["body"], waits_for: [1] };
  const book = { setups: [a, b] };
  const done = (...places) => new Set(places);
  const ring = ["a1 ring", "a2 ring"];
  assert.deepEqual(core.nextOf(book, done("a1 ring")), { setup: a, copy: 0, index: 1 });
  assert.deepEqual(core.nextOf(book, done(...ring)), { setup: a, copy: 1, index: 0 });
  assert.deepEqual(core.nextOf(book, done(...ring, "a1 ring#2", "a2 ring#2")), { setup: b, copy: 0, index: 0 });
  assert.equal(core.nextOf(book, done(...ring, "a1 ring#2", "a2 ring#2", "b1 body")), undefined);
  assert.deepEqual(core.stillAwaited(book, b, done(...ring)), [1]);
  assert.deepEqual(core.stillAwaited(book, b, done(...ring, "a1 ring#2", "a2 ring#2")), []);
  assert.equal(core.countDone(a, done("a1 ring", "a1 ring#2")), 2);
});

test("the scripts take under 200 kB on the wire without what turns a solid, and the page holds none of its own", async () => {
  const files = await pageFiles();
  const scripts = files.filter((f) => f.path.endsWith(".js") && f.path !== "/solid.js");
  const bytes = scripts.reduce((sum, f) => sum + gzipSync(f.bytes).length, 0);
  assert.ok(bytes > 1000 && bytes < 200_000, `${bytes} bytes`);
  const page = files.find((f) => f.path === "/").bytes.toString();
  assert.ok(!/<script(?![^>]*\bsrc=)/.test(page) && !/\son\w+=/.test(page) && !/style=/.test(page));
});

test("what is typed into a form becomes what stands in a sheet", () => {
  const { lengthOf, limitsOf, missingIn, nameOf, placesOf, tableOf } = core;
  assert.equal(lengthOf(" 12.50 "), 12.5);
  assert.equal(lengthOf("12,5"), 12.5);
  assert.equal(lengthOf("1/2 in"), "1/2 in");
  assert.equal(nameOf(" Base plate, left "), "base_plate_left");
  assert.deepEqual(limitsOf("H7"), { fit: "H7" });
  assert.deepEqual(limitsOf("\u00b10.02"), { plus_minus: 0.02 });
  assert.deepEqual(limitsOf("24.9 to 25.1"), { limits: [24.9, 25.1] });
  assert.deepEqual(limitsOf("-0.1, 0"), { deviations: [-0.1, 0] });
  assert.deepEqual(placesOf("0, 12"), { at: [0, 12] });
  assert.deepEqual(placesOf("0, 12; 1/2 in, 3"), { points: [[0, 12], ["1/2 in", 3]] });
  const { featureForms, jointForms, requirementForms } = core;
  const hole = featureForms.find((form) => form.kind === "hole tapped");
  assert.match(missingIn(hole, { name: "a", from: "+z" }), /Thread/);
  const typed = { name: "Cover holes", from: "+x", circle_count: "6", circle_diameter: "35", circle_first: "30", thread: "M3" };
  assert.equal(missingIn(hole, typed), undefined);
  assert.deepEqual(tableOf("parts/a.toml", "feature", hole, typed), {
    file: "parts/a.toml", table: "feature",
    keys: {
      name: "cover_holes", kind: "hole", from: "+x", thread: "M3", through: true,
      circle: { diameter: 35, count: 6, first: 30, zero: "+y", towards: "+z" },
    },
  });
  const screws = jointForms.find((form) => form.kind === "screwed_pattern");
  const joint = tableOf("machine.toml", "joint", screws, { name: "s", fixed: "a.b", moving: "c.d", screw_thread: "M3", screw_length: "12" });
  assert.deepEqual(joint.keys.screw, { thread: "M3", length: 12 });
  const clearance = requirementForms.find((form) => form.kind === "clearance");
  const asked = tableOf("machine.toml", "requirement", clearance, { name: "c", a: "a.b", b: "c.d", least_limit: "0.01", greatest_limit: "0.03" });
  assert.deepEqual(asked.keys.limits, [0.01, 0.03]);
});
