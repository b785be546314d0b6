// What if, typed-in sheets, a solid turned: in a real browser, against what the terminal says.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { audit } from "./audit.mjs";
import { goTo, openBrowser, openPage, programs, serve, sizes } from "./served.mjs";

const wait = 60_000;
let browser;
let served;

before(async () => {
  served = await serve();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await served?.stop();
  served?.clear();
});

async function open(options, address = served.address) {
  const opened = await openPage(browser, address, options);
  opened.page.setDefaultTimeout(wait);
  await opened.page.waitForSelector("h1");
  return opened;
}

async function post(page, path, body) {
  return page.evaluate(async ([address, text]) => {
    const { token } = await (await fetch("/api/token")).json();
    const answer = await fetch(address, { method: "POST", headers: { "Content-Type": "application/json", "Fitwright-Token": token }, body: text });
    return answer.json();
  }, [path, JSON.stringify({ schema: "fitwright-asked/1", ...body })]);
}

test("what if says what the terminal says of the same change", async () => {
  const { page, context } = await open({ viewport: sizes.desktop });
  for (const change of ["jaw_lift=half", "bore_square.upper=0.8", "bush_screws.clearance=0.3"]) {
    const said = spawnSync(join(programs, "fitwright"), ["odds", served.dir, "--what-if", change, "--json"], { encoding: "utf8" });
    const terminal = JSON.parse(said.stdout).what_if;
    const asked = await post(page, "/api/what-if", { changes: [change], requirement: "" });
    assert.ok(Math.abs(asked.all.after.odds - terminal.all.odds) < 1e-9, `${change}: ${asked.all.after.odds} and ${terminal.all.odds}`);
    for (const requirement of asked.requirements) {
      const other = terminal.requirements.find((one) => one.name === requirement.name);
      assert.ok(Math.abs(requirement.after.odds - other.after.odds) < 1e-3, `${change}, ${requirement.name}`);
    }
  }
  await context.close();
});

test("a spread is drawn whole, and moves with what is asked", async () => {
  const { page, context } = await open({ viewport: sizes.desktop });
  const sum = (shares) => shares.reduce((all, share) => all + share, 0);
  const { knobs } = await page.evaluate(async () => (await fetch("/api/knobs")).json());
  const heaviest = knobs.find((knob) => knob.kind === "spread");
  const still = await post(page, "/api/spread", { changes: [], requirement: "bore_square" });
  assert.ok(Math.abs(sum(still.before) - 1) < 0.03, `${sum(still.before)}`);
  assert.deepEqual(still.after, []);
  const moved = await post(page, "/api/spread", { changes: [`${heaviest.key}=double`], requirement: "bore_square" });
  const mean = (edges, shares) => shares.reduce((all, share, i) => all + share * (edges[i] + edges[i + 1]) / 2, 0) / sum(shares);
  assert.ok(mean(moved.edges_after, moved.after) > mean(moved.edges, moved.before), "twice the worst spread leaves it less square");
  await context.close();
});

test("a number is turned on the page: odds, drawing and strokes follow; taken back all is as planned", async () => {
  const { page, context, wrong } = await open({ viewport: sizes.desktop });
  await goTo(page, "fit");
  await page.locator(".what-if .knob").first().waitFor();
  await page.locator(".asked").first().locator(".distribution").waitFor();
  assert.equal(await page.locator(".distribution .line.before").count(), 0);
  await page.locator(".what-if .knob").first().locator("label", { hasText: "half" }).click();
  await page.locator(".changed .all").waitFor();
  await page.locator(".asked .chance s").first().waitFor();
  await page.locator(".distribution .line.before").waitFor();
  assert.deepEqual(await audit(page), []);
  await page.locator(".turned button").click();
  await page.locator(".changed .all").waitFor({ state: "detached" });
  await page.locator(".asked .chance s").first().waitFor({ state: "detached" });
  await page.locator("summary", { hasText: "What would lessen" }).click();
  await page.locator(".lessen button").first().click();
  await page.locator(".changed .all").waitFor();
  assert.deepEqual(wrong, []);
  await context.close();
});

test("what if goes by what was read of the machine, says so, and asks as planned when told to", async () => {
  const own = await serve();
  const { page, context, wrong } = await open({ viewport: sizes.tablet }, own.address);
  const planned = await post(page, "/api/what-if", { changes: [], requirement: "" });
  assert.equal(planned.by_readings, 0);
  const kept = spawnSync(join(programs, "fitwright"), ["record", own.dir, "block.bore", "25.03", "--done"], { encoding: "utf8" });
  assert.equal(kept.status, 1, `outside its limits: ${kept.stdout}${kept.stderr}`);
  const standing = await post(page, "/api/what-if", { changes: [], requirement: "" });
  assert.equal(standing.by_readings, 1);
  const fit = (said) => said.requirements.find((one) => one.name === "bush_spigot_clearance").before.odds;
  assert.ok(Math.abs(fit(standing) - fit(planned)) > 0.05, `${fit(standing)} and ${fit(planned)}`);
  const said = spawnSync(join(programs, "fitwright"), ["odds", own.dir, "--builds", "8192", "--json"], { encoding: "utf8" });
  const terminal = JSON.parse(said.stdout);
  assert.equal(terminal.by_readings, 1);
  assert.ok(Math.abs(terminal.odds.all - standing.all.before.odds) < 0.02, `${terminal.odds.all} and ${standing.all.before.odds}`);
  const still = spawnSync(join(programs, "fitwright"), ["odds", own.dir, "--afresh", "--json"], { encoding: "utf8" });
  assert.equal(JSON.parse(still.stdout).by_readings, 0);
  assert.ok(Math.abs(JSON.parse(still.stdout).odds.all - planned.all.before.odds) < 1e-3);
  await goTo(page, "fit");
  await page.locator(".by-readings", { hasText: "as it stands, by the reading so far" }).waitFor();
  await page.locator(".by-readings button", { hasText: "Ask as planned" }).click();
  await page.locator(".by-readings", { hasText: "as if nothing were made" }).waitFor();
  assert.deepEqual(await audit(page), []);
  await page.locator(".by-readings button", { hasText: "Ask as it stands" }).click();
  await page.locator(".by-readings", { hasText: "by the reading so far" }).waitFor();
  assert.deepEqual(wrong, []);
  await context.close();
  await own.stop();
  own.clear();
});

test("keyboard alone: a knob is reached and turned", async () => {
  const { page, context } = await open({ viewport: sizes.tablet });
  await goTo(page, "fit");
  await page.locator(".what-if .knob").first().waitFor();
  await page.locator(".what-if .knob input:checked").first().focus();
  await page.keyboard.press("ArrowLeft");
  await page.locator(".changed .all").waitFor();
  await context.close();
});

async function fill(page, prefix, values) {
  for (const [key, value] of Object.entries(values)) {
    const field = page.locator(`#${prefix}-${key}`);
    if ((await field.evaluate((node) => node.tagName)) === "SELECT") await field.selectOption(value);
    else await field.fill(value);
  }
}

async function addOne(page, title, table, kind, values) {
  const form = page.locator("details.add", { hasText: title });
  if ((await form.getAttribute("open")) === null) await form.locator("summary").click();
  await form.locator(`#add-${table}`).selectOption(kind);
  await fill(page, `add-${table}-${kind.replace(" ", "-")}`, values);
  await form.locator("button[type=submit]").click();
  await form.locator("p[role=status]", { hasText: "stands in" }).waitFor();
}

test("from a paper drawing: two parts typed in, a joint, what must be true, and a plan of them", async () => {
  const own = await serve({ empty: true });
  const { page, context, wrong } = await open({ viewport: sizes.tablet }, own.address);
  await fill(page, "part-block", { machine: "a press", part: "Base plate", material: "aluminium", size: "60, 40" });
  await page.locator(".sheet-form button").click();
  await page.locator(".faults", { hasText: "parts/base_plate.toml" }).waitFor();
  assert.equal(existsSync(join(own.dir, "machine.toml")), false, "nothing is written by half");
  await fill(page, "part-block", { size: "60, 40, 12" });
  assert.deepEqual(await audit(page), []);
  await page.locator(".sheet-form button").click();
  await page.waitForSelector(".page-parts .sheet-lines", { state: "attached" });
  wrong.length = 0;  // what was refused so far is said there, too
  await addOne(page, "Add a feature", "feature", "hole tapped", { name: "cover holes", from: "+z", at: "10, 20; 50, 20", thread: "M4", thread_depth: "8" });
  await addOne(page, "Add a feature", "feature", "bore", { name: "bore", from: "+z", at: "30, 20", diameter: "16", limits: "H7" });
  assert.match(readFileSync(join(own.dir, "parts/base_plate.toml"), "utf8"), /name = "bore"\nkind = "bore"\nfrom = "\+z"\nat = \[30, 20\]\ndiameter = 16\nfit = "H7"\nthrough = true\n/);
  await goTo(page, "parts/machine.toml");
  const another = page.locator("details.add", { hasText: "Add a part" });
  await another.locator("summary").click();
  await fill(page, "part-block", { part: "cover", material: "aluminium", size: "60, 40, 14", stands: "0, 0, 12" });
  await another.locator("button[type=submit]").click();
  await page.waitForSelector(".page-parts .part-links a[aria-current]:has-text('cover')");
  await addOne(page, "Add a feature", "feature", "hole", { name: "screw_holes", from: "+z", at: "10, 20; 50, 20", diameter: "4.5" });
  await goTo(page, "parts/machine.toml");
  await addOne(page, "Add a joint", "joint", "screwed_pattern", { name: "screws", fixed: "base_plate.cover_holes", moving: "cover.screw_holes", screw_thread: "M4", screw_length: "20" });
  await addOne(page, "Add a joint", "joint", "face_contact", { name: "face", fixed: "base_plate.top", moving: "cover.bottom" });
  await addOne(page, "Add what must be true", "requirement", "square", { name: "bore square", a: "base_plate.bore", b: "base_plate.bottom", within: "0.03", over: "12" });
  assert.deepEqual(await audit(page), []);
  await goTo(page, "overview");
  await page.locator("button", { hasText: "Make the plan" }).click();
  await page.waitForSelector(".overview .next", { timeout: 2 * wait });
  await goTo(page, "fit");
  await page.locator(".asked", { hasText: "bore square" }).waitFor();
  assert.deepEqual(wrong, []);
  await context.close();
  await own.stop();
  own.clear();
});

test("a solid is loaded when it is asked for, and turns by finger and by keys", async () => {
  const { page, context, wrong } = await open({ viewport: sizes.tablet });
  const asked = [];
  page.on("request", (request) => asked.push(new URL(request.url()).pathname));
  await goTo(page, "machine/1/0");
  await page.locator(".drawing img.there").waitFor();
  assert.ok(!asked.includes("/solid.js"));
  await page.locator(".drawing button", { hasText: "Turn it" }).click();
  const canvas = page.locator(".solid-view canvas.there");
  await canvas.waitFor();
  // What is drawn, where it is drawn: the page itself keeps no picture of it.
  const seen = async () => (await canvas.screenshot()).toString("base64");
  const first = await seen();
  await canvas.focus();
  await page.keyboard.press("ArrowRight");
  const turned = await seen();
  assert.notEqual(turned, first);
  await page.keyboard.press("Home");
  assert.equal(await seen(), first, "home is where it began");
  await page.locator(".solid-turns button", { hasText: "Before" }).click();
  assert.notEqual(await seen(), first, "what goes in is not what comes out");
  const box = await canvas.boundingBox();
  await page.mouse.move(box.x + 200, box.y + 100);
  await page.mouse.down();
  const held = await seen();
  await page.mouse.move(box.x + 260, box.y + 100, { steps: 3 });
  await page.mouse.up();
  assert.notEqual(await seen(), held);
  assert.deepEqual(await audit(page), []);
  assert.deepEqual(wrong, []);
  await context.close();
});
