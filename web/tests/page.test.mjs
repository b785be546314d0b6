// The page in a real browser: every page at three sizes, keyboard, touch, both grounds, both units.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { audit } from "./audit.mjs";
import { goTo, openBrowser, openPage, serve, sizes, stepFile } from "./served.mjs";

const deep = process.env.FITWRIGHT_DEEP !== undefined;
const pages = ["overview", "parts", "parts/machine.toml", "order", "machine", "machine/1/1", "machine/2/1", "fit", "shop", "print"];
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

async function open(options) {
  const opened = await openPage(browser, served.address, options);
  opened.page.setDefaultTimeout(wait);
  await opened.page.waitForSelector("h1");
  return opened;
}

const atScreen = (screen) => location.hash.split("/")[3] === String(screen);

for (const [size, viewport] of Object.entries(sizes)) {
  const grounds = deep || size === "tablet" ? ["paper", "night"] : ["paper"];
  test(`every page at ${size} size, ${grounds.join(" and ")}: nothing cut off, no violation, no error`, async () => {
    const { page, context, wrong } = await open({ viewport, hasTouch: size !== "desktop" });
    for (const ground of grounds) {
      await page.evaluate((g) => localStorage.setItem("fitwright-ground", g), ground);
      await page.reload();
      await page.waitForSelector("h1");
      for (const name of pages) {
        await goTo(page, name);
        const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        assert.ok(over <= 0, `${name} is ${over} px too wide`);
        assert.deepEqual(await audit(page), [], `${name} at ${size}, ${ground}`);
      }
    }
    assert.deepEqual(wrong, []);
    await context.close();
  });
}

for (const viewport of [{ width: 320, height: 600 }, { width: 820, height: 1180 }]) {
  test(`a screen ${viewport.width} px wide loses nothing`, async () => {
    const { page, context } = await open({ viewport });
    for (const name of pages) {
      await goTo(page, name);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      assert.ok(over <= 0, `${name} is ${over} px too wide`);
    }
    await context.close();
  });
}

test("figures have one width, so that columns stand on the point", async () => {
  const { page, context } = await open({ viewport: sizes.tablet });
  const widths = await page.evaluate(async () => {
    await document.fonts.ready;
    return [..."0123456789"].map((figure) => {
      const span = document.body.appendChild(document.createElement("span"));
      span.textContent = figure.repeat(20);
      const width = span.getBoundingClientRect().width;
      span.remove();
      return Math.round(width * 10);
    });
  });
  assert.equal(new Set(widths).size, 1, widths.join(" "));
  assert.ok(await page.evaluate(() => document.fonts.check("16px Book")));
  await context.close();
});

// A step of the plan that has places, and one that asks for a size.
async function findSteps(page) {
  const book = await page.evaluate(async () => (await fetch("/api/report?unit=mm")).json());
  const found = {};
  for (const setup of book.setups) {
    const ticks = setup.pieces.filter((piece) => piece.kind === "tick");
    setup.steps.forEach((step, i) => {
      if (step.measure && step.measure.upper_mm > step.measure.lower_mm) found.measured ??= { setup: setup.number, screen: i + 1, step };
      if (step.measure?.feature === "block.bore") found.bore ??= { setup: setup.number, screen: i + 1, step };
      const at = setup.pieces.indexOf(ticks[i]);
      if (setup.pieces[at + 1]?.kind === "table") found.places ??= { setup: setup.number, screen: i + 1 };
    });
  }
  return found;
}

test("at the machine: what to dial stands 6 mm tall on a 10-inch tablet, targets are 15 mm", async () => {
  const { page, context } = await open({ viewport: sizes.tablet, hasTouch: true });
  const { places } = await findSteps(page);
  await goTo(page, `machine/${places.setup}/${places.screen}`);
  const perMm = Math.hypot(sizes.tablet.width, sizes.tablet.height) / (10 * 25.4);
  const size = await page.evaluate(() => parseFloat(getComputedStyle(document.querySelector(".at-hand .readings dd")).fontSize));
  const capShare = 0.66;  // of this family's figures
  assert.ok((size * capShare) / perMm >= 6, `${((size * capShare) / perMm).toFixed(1)} mm`);
  const rows = await page.evaluate(() => [...document.querySelectorAll(".places button")].map((button) => ({
    tall: button.getBoundingClientRect().height,
    sizes: [...button.querySelectorAll("dd")].map((dd) => parseFloat(getComputedStyle(dd).fontSize)),
    ends: [...button.querySelectorAll("dd")].map((dd) => Math.round(dd.getBoundingClientRect().right)),
  })));
  for (const row of rows) {
    assert.ok(row.sizes.every((one) => one === size), "any place can be dialled from arm's length");
    assert.ok(row.tall / perMm >= 14.9, `a place is ${(row.tall / perMm).toFixed(1)} mm tall`);
    assert.deepEqual(row.ends, rows[0].ends, "figures stand on the point");
  }
  for (const name of [".foot .on", ".foot .back", ".at-hand button"]) {
    const box = await page.locator(name).first().boundingBox();
    assert.ok(box.height / perMm >= 14.9, `${name} is ${(box.height / perMm).toFixed(1)} mm tall`);
  }
  await context.close();
});

test("touch alone: tick a place, a step, take it back, record a size in two taps and the number", async () => {
  const { page, context, wrong } = await open({ viewport: sizes.tablet, hasTouch: true });
  const { places, measured } = await findSteps(page);
  await goTo(page, `machine/${places.setup}/${places.screen}`);
  await page.locator(".places button").last().tap();
  assert.equal(await page.locator(".places li").last().getAttribute("class"), "at-hand", "the one that is touched comes to hand");
  assert.equal(await page.locator(".places button").last().getAttribute("aria-pressed"), "false");
  await page.locator(".places button").first().tap();
  await page.locator(".places button").first().tap();
  assert.equal(await page.locator(".places button").first().getAttribute("aria-pressed"), "true");
  await page.locator(".foot .on").tap();
  await page.waitForFunction(atScreen, places.screen + 1);
  await page.locator(".foot .back").tap();
  await page.locator(".count", { hasText: "done" }).waitFor();
  await goTo(page, `machine/${places.setup}/0`);
  await page.locator(".steps li.done", { hasText: "done" }).locator("a").tap();
  await page.locator(".count", { hasText: "done" }).waitFor();
  await page.locator(".foot .undone").tap();
  await page.locator(".foot .on", { hasText: "Done" }).waitFor();
  await page.locator(".foot .undo", { hasText: "not done" }).tap();
  await page.locator(".count", { hasText: "done" }).waitFor();

  await goTo(page, `machine/${measured.setup}/${measured.screen}`);
  const size = (measured.step.measure.upper_mm + 0.01).toFixed(3);
  await page.locator(".enter").tap();
  for (const key of size) await page.locator(".keys button", { hasText: new RegExp(`^${key === "." ? "\\." : key}$`) }).tap();
  await page.locator(".keypad .on").tap();
  await page.locator(".keypad .ask", { hasText: "measure again" }).waitFor();
  await page.locator(".keypad .on", { hasText: "keep it" }).tap();
  await page.locator(".measured", { hasText: size }).waitFor();
  const above = await page.evaluate(() => document.querySelector(".measured").getBoundingClientRect().top < document.querySelector(".details").getBoundingClientRect().top);
  assert.ok(above, "what it means stands before the figures of the cut");
  await page.locator(".measured", { hasText: "0.010 over the greatest" }).waitFor();
  await page.locator(".measured", { hasText: "was expected, give or take" }).waitFor();
  await page.reload();
  await page.locator(".measured", { hasText: size }).waitFor();
  const sent = page.waitForResponse((response) => response.url().includes("/api/events"));
  await page.locator(".measured button", { hasText: "Take it back" }).tap();
  await page.locator(".enter").waitFor();
  await sent;
  assert.deepEqual(wrong, []);
  await context.close();
});

test("the shop says what readings teach, and has the page of tests", async () => {
  const { page, context, wrong } = await open({ viewport: sizes.tablet });
  await goTo(page, "shop");
  await page.locator(".learning h2", { hasText: "What the readings teach" }).waitFor();
  await page.locator(".learning h2", { hasText: "Is it honest?" }).waitFor();
  await page.locator(".learning summary", { hasText: "Tests by which a shop" }).click();
  await page.locator(".learning h3", { hasText: "12." }).waitFor();
  assert.deepEqual(await audit(page), []);
  await page.locator(".folded summary", { hasText: "Tools" }).click();
  await page.locator(".folded[open] table").waitFor();
  assert.deepEqual(wrong, []);
  await context.close();
});

// What a person at the machine asks first, each answer in sight without a scroll.
for (const [size, viewport] of Object.entries({ phone: sizes.phone, tablet: sizes.tablet, upright: { width: 800, height: 1280 } })) {
  test(`with the screen alone at ${size} size: what is next, hole 3, a bore over its limits, what that changes and why`, async () => {
    const own = await serve();
    const { page, context, wrong } = await openPage(browser, own.address, { viewport, hasTouch: true });
    page.setDefaultTimeout(wait);
    let taps = 0;
    const tap = async (locator) => {
      await locator.first().tap();
      ++taps;
    };
    const inSight = (selector) => page.locator(selector).first().evaluate((node) => {
      const foot = node.closest("dialog") ? innerHeight : document.querySelector(".foot")?.getBoundingClientRect().top ?? innerHeight;
      const box = node.getBoundingClientRect();
      return box.top >= 0 && box.bottom <= foot + 1;
    });
    await page.waitForSelector(".overview .next .what a");
    assert.ok(await inSight(".overview .next .what a"), "what is next");
    const { places, bore: measured } = await findSteps(page);
    await tap(page.locator("nav a", { hasText: "Order of work" }));
    await tap(page.locator(`.row a[href^="#/machine/${places.setup}/"]`));
    await tap(page.locator(`.steps a[href^="#/machine/${places.setup}/${places.screen}"]`));
    await page.waitForSelector(".places");
    const third = page.locator(".places li").nth(Math.min(2, (await page.locator(".places li").count()) - 1));
    await tap(third.locator("button"));
    assert.equal(await third.getAttribute("class"), "at-hand");
    assert.ok(await inSight(".places .at-hand .readings"), "what to dial for hole 3");
    assert.ok(taps <= 4, `${taps} taps to hole 3`);

    await goTo(page, `machine/${measured.setup}/${measured.screen}`);
    const typed = (measured.step.measure.upper_mm + 0.005).toFixed(3);
    taps = 0;
    await tap(page.locator(".enter"));
    for (const key of typed) await tap(page.locator(".keys button", { hasText: new RegExp(`^${key === "." ? "\\." : key}$`) }));
    // A second touch that follows at once does not pass what is asked back.
    await page.locator(".keypad .on").evaluate(async (button) => {
      const touch = () => button.dispatchEvent(new MouseEvent("click", { bubbles: true, detail: 1 }));
      touch();
      await new Promise((next) => setTimeout(next, 50));
      touch();
    });
    ++taps;
    await page.locator(".keypad .ask").waitFor();
    assert.ok(await inSight(".keypad .on"), "the keypad is whole while it asks back");
    await tap(page.locator(".keypad .on"));
    assert.equal(taps, typed.length + 3, "two taps and the number, and one for being outside");
    await page.locator(".measured .say", { hasText: "was expected, give or take" }).waitFor();
    assert.ok(await inSight(".measured strong") && await inSight(".measured .say"), "what it means");
    // What is done about it is chosen by touch, and kept.
    await page.locator(".way", { hasText: "Leave" }).tap();
    assert.deepEqual(await audit(page), [], "what can be done");
    await page.locator(".ways .sure button", { hasText: "keep it" }).tap();
    await page.locator(".ways", { hasText: "Kept: Leave" }).waitFor();
    await page.locator(".count", { hasText: "done" }).waitFor();
    // What is still to be cut says at its own step where it is to be brought now.
    const bring = await page.evaluate(async () => {
      const { bring: [first] } = await (await fetch("/api/build?build=1&unit=mm")).json();
      const book = await (await fetch("/api/report?unit=mm")).json();
      const setup = book.setups.find((one) => one.steps.some((step) => step.id === first?.step));
      return setup && { setup: setup.number, screen: setup.steps.findIndex((step) => step.id === first.step) + 1 };
    });
    assert.ok(bring, "a size still to be cut follows the bore");
    await goTo(page, `machine/${bring.setup}/${bring.screen}`);
    await page.locator(".bring", { hasText: "Its fits then hold" }).waitFor();
    assert.ok(await inSight(".bring"), "where it is to be brought");
    await page.locator("nav a", { hasText: "Overview" }).tap();
    await page.locator(".last-change li", { hasText: "over the greatest" }).waitFor();
    assert.ok(await inSight(".last-change li"), "what changed and why");
    assert.deepEqual(wrong, []);
    await context.close();
    await own.stop();
    own.clear();
  });
}

test("keyboard alone: to the pages, through the steps, a size", async () => {
  const { page, context } = await open({ viewport: sizes.desktop });
  const { measured } = await findSteps(page);
  for (let i = 0; i < 4; ++i) await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".page-order h1");
  await page.waitForFunction(() => document.activeElement.id === "main");
  await goTo(page, `machine/${measured.setup}/${measured.screen}`);
  await page.keyboard.press("ArrowLeft");
  await page.waitForFunction(atScreen, measured.screen - 1);
  await page.keyboard.press("ArrowRight");
  await page.waitForFunction(atScreen, measured.screen);
  await page.locator(".enter").press("Enter");
  await page.locator(".keypad").waitFor();
  await page.locator(".keypad .typed").waitFor();
  await page.keyboard.type("24.01x");
  assert.equal(await page.locator(".keypad output").textContent(), "24.01");
  await page.keyboard.press("Backspace");
  assert.equal(await page.locator(".keypad output").textContent(), "24.0");
  await page.keyboard.press("Escape");
  await page.locator(".keypad").waitFor({ state: "detached" });
  await page.keyboard.press("Enter");
  await page.locator(".keypad").waitFor();
  await goTo(page, `machine/${measured.setup}/${measured.screen - 1}`);
  await page.locator(".keypad").waitFor({ state: "detached" });
  await goTo(page, `machine/${measured.setup}/${measured.screen}`);
  assert.equal(await page.locator(".keypad").count(), 0, "a keypad belongs to one step");
  await page.locator(".enter").waitFor();
  await context.close();
});

test("inch and mm: the same place in both, remembered", async () => {
  const { page, context } = await open({ viewport: sizes.tablet });
  const { places } = await findSteps(page);
  await goTo(page, `machine/${places.setup}/${places.screen}`);
  const value = async () => Number((await page.locator(".at-hand .readings dd").first().textContent()).replace("\u2212", "-"));
  const mm = await value();
  await page.locator("input[name=unit]").nth(1).check();
  await page.locator(".unit-sign", { hasText: "in" }).waitFor();
  assert.ok(Math.abs((await value()) * 25.4 - mm) < 0.002, `${await value()} in, ${mm} mm`);
  await page.reload();
  await page.locator(".unit-sign", { hasText: "in" }).waitFor();
  await context.close();
});

test("a drawing is shown as it goes to paper", async () => {
  const { page, context } = await open({ viewport: sizes.desktop });
  await goTo(page, "machine/1/0");
  await page.locator(".drawing img.there").waitFor({ timeout: 10 * wait });
  assert.ok(await page.evaluate(() => document.querySelector(".drawing img").naturalWidth > 100));
  await context.close();
});

async function stepsDone(address) {
  const answer = await fetch(`${address}api/build`);
  return (await answer.json()).done.map((done) => done.step);
}

test("offline and back: what is ticked and measured meanwhile is kept, and sent once, in its order", async () => {
  const own = await serve();
  const { page, context } = await openPage(browser, own.address, { viewport: sizes.tablet });
  page.setDefaultTimeout(wait);
  await page.waitForSelector("h1");
  const { measured } = await findSteps(page);
  await page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  await page.waitForFunction(async () => (await (await caches.open("build-book/1")).keys()).some((k) => k.url.includes("/api/report")));
  assert.equal(await own.stop(), 0, "a graceful stop");
  await page.locator(".notices", { hasText: "does not answer" }).waitFor();
  await goTo(page, "machine/1/1");
  await page.locator(".foot .on").click();
  await page.locator(".notices", { hasText: "1 waiting" }).waitFor();
  await page.reload();
  await goTo(page, `machine/${measured.setup}/${measured.screen}`);
  const size = ((measured.step.measure.lower_mm + measured.step.measure.upper_mm) / 2).toFixed(3);
  await page.locator(".enter").click();
  await page.locator(".keypad .typed").waitFor();
  await page.keyboard.type(size);
  await page.keyboard.press("Enter");
  await page.locator(".measured", { hasText: size }).waitFor();
  await page.locator(".notices", { hasText: "2 waiting" }).waitFor();
  const again = await serve({ place: own.place, port: own.port });
  await page.locator(".notices p").waitFor({ state: "detached" });
  while ((await stepsDone(again.address)).length < 2) await page.waitForTimeout(100);  // the time limit of the test ends it
  assert.deepEqual((await stepsDone(again.address)).sort(), ["s01.1", measured.step.id].sort());
  const build = await (await fetch(`${again.address}api/build`)).json();
  assert.equal(build.last, 3, "a tick, a reading, and that its step is done by it");
  await context.close();
  await again.stop();
  again.clear();
});

test("two devices: what one ticks the other shows, without being loaded anew", async () => {
  const one = await open({ viewport: sizes.tablet, hasTouch: true });
  const two = await open({ viewport: sizes.phone, hasTouch: true });
  await goTo(one.page, "machine/3/1");
  await goTo(two.page, "machine/3/1");
  await one.page.locator(".foot .on").tap();
  await two.page.locator(".count", { hasText: "done" }).waitFor();
  await two.page.locator(".foot .undone").tap();
  await goTo(one.page, "machine/3/1");
  await one.page.locator(".foot .on", { hasText: "Done" }).waitFor();
  assert.deepEqual([...one.wrong, ...two.wrong], []);
  await one.context.close();
  await two.context.close();
});

test("a sheet is changed in one place, and what would break it is refused with its line", async () => {
  const own = await serve();
  const { page, context } = await openPage(browser, own.address, { viewport: sizes.desktop });
  page.setDefaultTimeout(wait);
  await page.waitForSelector("h1");
  await goTo(page, "parts/bush");
  const file = join(own.dir, "parts/bush.toml");
  const before = readFileSync(file, "utf8");
  await page.locator("summary", { hasText: "The sheet" }).click();
  const change = async (value) => {
    await page.locator("button[aria-label='Change fit of feature spigot']").last().click();
    await page.locator(".editor input").fill(value);
    await page.locator(".editor button[type=submit]").click();
  };
  await change('"zz9"');
  await page.locator(".faults", { hasText: "parts/bush.toml, line" }).waitFor();
  assert.equal(readFileSync(file, "utf8"), before);
  await page.locator(".editor input").fill('"f7"');
  await page.locator(".editor button[type=submit]").click();
  await page.locator(".editor").waitFor({ state: "detached" });
  assert.equal(readFileSync(file, "utf8"), before.replace('"g6"', '"f7"'));
  await goTo(page, "overview");
  await page.locator("button", { hasText: "Plan again" }).waitFor();
  assert.deepEqual(await audit(page), []);
  await context.close();
  await own.stop();
  own.clear();
});

test("on paper each drawing fills one page and nothing is cut off, A4 and Letter", async () => {
  const { page, context } = await open({ viewport: sizes.desktop });
  await goTo(page, "print");
  await page.locator(".what-choices input").first().uncheck();
  await page.locator(".from-to input").nth(1).fill("2");
  await page.locator(".print-now:not(:disabled)").waitFor({ timeout: 10 * wait });
  const sheets = await page.locator(".paper.drawing-page img").count();
  assert.ok(sheets >= 2);
  await page.waitForFunction(() => [...document.querySelectorAll(".paper img")].every((img) => img.complete && img.naturalWidth > 0));
  for (const [paper, width] of [["A4", 297 / 25.4 * 72], ["Letter", 11 * 72]]) {
    await page.locator(".print-choices label", { hasText: paper }).click();
    const pdf = (await page.pdf({ preferCSSPageSize: true })).toString("latin1");
    assert.equal(pdf.match(/\/Type \/Page\b/g).length, sheets, paper);
    const box = /\/MediaBox \[0 0 ([\d.]+)/.exec(pdf);
    assert.ok(Math.abs(Number(box[1]) - width) < 1.5, `${paper}: ${box[1]}`);
  }
  await context.close();
});

test("an empty folder: what is no STEP file is refused, and one is asked for", async () => {
  const own = await serve({ empty: true });
  const { page, context } = await openPage(browser, own.address, { viewport: sizes.phone });
  page.setDefaultTimeout(wait);
  await page.locator(".drop", { hasText: "Drop a STEP file" }).waitFor();
  await page.locator("h1", { hasText: "A new build book" }).waitFor();
  assert.deepEqual(await audit(page), []);
  const bring = (name, text) => page.locator("input[type=file]").setInputFiles({ name, mimeType: "", buffer: Buffer.from(text) });
  await bring("drawing.pdf", "%PDF");
  await page.locator(".faults", { hasText: "no STEP file" }).waitFor();
  await bring("torn.step", "ISO-10303-21;\nHEADER;");
  await page.locator(".faults", { hasText: "Nothing was written" }).waitFor();
  await page.locator(".drop", { hasText: "Drop a STEP file" }).waitFor();
  await context.close();
  await own.stop();
  own.clear();
});

// As a person drops it from a folder.
async function drop(page, file) {
  const bytes = readFileSync(file).toString("base64");
  const carried = await page.evaluateHandle((text) => {
    const transfer = new DataTransfer();
    transfer.items.add(new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], "machine.step"));
    return transfer;
  }, bytes);
  await page.dispatchEvent(".drop", "dragover", { dataTransfer: carried });
  await page.dispatchEvent(".drop", "drop", { dataTransfer: carried });
}

// Each by the one means that it has: a finger, or keys.
const means = { phone: "touch", tablet: "touch", desktop: "keys" };
async function press(page, locator, size) {
  if (means[size] === "touch") return locator.tap();
  await locator.focus();
  return page.keyboard.press("Enter");
}

for (const [size, viewport] of Object.entries(sizes)) {
  test(`the whole journey at ${size} size by ${means[size]}: a STEP file dropped, a plan, every step ticked off`, { skip: !deep }, async () => {
    const own = await serve({ empty: true });
    const { page, context, wrong } = await openPage(browser, own.address, { viewport, hasTouch: means[size] === "touch" });
    page.setDefaultTimeout(10 * wait);
    await page.locator("h1", { hasText: "A new build book" }).waitFor();
    await page.locator(".material input").fill("aluminium");
    if (size === "phone") await page.locator("input[type=file]").setInputFiles(stepFile());
    else await drop(page, stepFile());
    await page.waitForSelector(".page-parts .sheet-lines", { state: "attached" });
    wrong.length = 0;  // that the empty folder had nothing to show is said there
    await press(page, page.locator(".contents a", { hasText: "Overview" }), size);
    await press(page, page.locator("button", { hasText: "Make the plan" }), size);
    await page.waitForSelector(".overview .next");
    await press(page, page.locator(".overview .next a"), size);
    const last = page.locator(".foot .on:disabled");
    const place = () => `${location.hash} ${document.querySelector(".foot .on")?.disabled}`;
    for (let i = 0; i < 1000 && (await last.count()) === 0; ++i) {
      const here = await page.evaluate(place);
      await press(page, page.locator(".foot .on"), size);
      await page.waitForFunction((was) => `${location.hash} ${document.querySelector(".foot .on")?.disabled}` !== was, here);
    }
    await press(page, page.locator(".contents a", { hasText: "Overview" }), size);
    await page.locator(".next", { hasText: "Every step is ticked off" }).waitFor();
    assert.deepEqual(wrong, [], size);
    await context.close();
    await own.stop();
    own.clear();
  });
}

test("200 % zoom on a small laptop: nothing cut off, no violation", async () => {
  const { page, context } = await open({ viewport: { width: 640, height: 400 }, deviceScaleFactor: 2 });
  for (const name of pages) {
    await goTo(page, name);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(over <= 0, `${name} is ${over} px too wide`);
    if (deep || name === "machine/1/1" || name === "fit") assert.deepEqual(await audit(page), [], name);
  }
  await context.close();
});

test("faults in the sheets stand on the page with their lines; without a plan it says what would do", async () => {
  const own = await serve({ withoutPlan: true });
  const { page, context } = await openPage(browser, own.address, { viewport: sizes.desktop });
  page.setDefaultTimeout(wait);
  await page.locator("h1", { hasText: "No plan yet" }).waitFor();
  assert.deepEqual(await audit(page), []);
  const file = join(own.dir, "machine.toml");
  writeFileSync(file, readFileSync(file, "utf8") + "\n[nonsense]\na = 1\n");
  const faults = page.locator(".faults", { hasText: "machine.toml, line" });
  // The page may have looked by itself when the folder changed.
  await Promise.race([page.locator("button", { hasText: "Look again" }).click().catch(() => {}), faults.waitFor()]);
  await faults.waitFor();
  assert.deepEqual(await audit(page), []);
  const left = await page.evaluate(async () => {
    const heading = document.querySelector("h1");
    [...document.querySelectorAll(".faults button")].find((one) => one.textContent === "Read it again").click();
    for (let i = 0; i < 50 && heading.isConnected; ++i) await new Promise((next) => setTimeout(next, 10));
    return !heading.isConnected;
  });
  assert.ok(!left, "what is shown stays until the answer is there");
  await context.close();
  await own.stop();
  own.clear();
});
