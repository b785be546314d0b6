// The page in a real browser: every page at three sizes, keyboard, touch, both grounds, both units.
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { openBrowser, openPage, serve, sizes } from "./served.mjs";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const pages = ["overview", "order", "machine", "machine/1/1", "machine/2/1", "fit"];
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

async function goTo(page, name) {
  await page.evaluate((hash) => { location.hash = hash; }, `#/${name}`);
  await page.waitForSelector(`.page-${name.split("/")[0]} h1`);
}

async function audit(page) {
  // Tall enough that nothing lies under the foot of the screen, which scrolling brings out.
  const viewport = page.viewportSize();
  const height = await page.evaluate(() => document.documentElement.scrollHeight);
  await page.setViewportSize({ ...viewport, height: Math.min(height + 200, 6000) });
  try {
    return await violations(page);
  } finally {
    await page.setViewportSize(viewport);
  }
}

async function violations(page) {
  // Given to the page by the tester, as its policy lets no script in.
  await page.evaluate(axe);
  const found = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"] }));
  return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ")}`);
}

for (const [size, viewport] of Object.entries(sizes)) {
  test(`every page at ${size} size, on paper and at night: nothing cut off, no violation, no error`, async () => {
    const { page, context, wrong } = await open({ viewport, hasTouch: size !== "desktop" });
    for (const ground of ["paper", "night"]) {
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

test("narrow screens and 200 % zoom lose nothing", async () => {
  const { page, context } = await open({ viewport: { width: 320, height: 600 } });
  for (const name of pages) {
    await goTo(page, name);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.ok(over <= 0, `${name} is ${over} px too wide at 320 px`);
  }
  await context.close();
});

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
  await page.locator(".places button").first().tap();
  assert.equal(await page.locator(".places button").first().getAttribute("aria-pressed"), "true");
  await page.locator(".foot .on").tap();
  await page.waitForFunction((screen) => location.hash.endsWith(`/${screen}`), places.screen + 1);
  await page.locator(".foot .back").tap();
  await page.locator(".count", { hasText: "done" }).waitFor();
  await page.locator(".foot .undo").tap();
  await page.locator(".foot .on", { hasText: "Done" }).waitFor();

  await goTo(page, `machine/${measured.setup}/${measured.screen}`);
  const size = (measured.step.measure.upper_mm + 0.01).toFixed(3);
  await page.locator(".enter").tap();
  for (const key of size) await page.locator(".keys button", { hasText: new RegExp(`^${key === "." ? "\\." : key}$`) }).tap();
  await page.locator(".keypad .on").tap();
  await page.locator(".measured", { hasText: size }).waitFor();
  await page.locator(".measured", { hasText: "over the upper limit by 0.010 mm" }).waitFor();
  await page.reload();
  await page.locator(".measured", { hasText: size }).waitFor();
  assert.deepEqual(wrong, []);
  await context.close();
});

test("keyboard alone: to the pages, through the steps, a size", async () => {
  const { page, context } = await open({ viewport: sizes.desktop });
  const { measured } = await findSteps(page);
  await page.keyboard.press("Tab");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".page-order h1");
  assert.equal(await page.evaluate(() => document.activeElement.id), "main");
  await goTo(page, `machine/${measured.setup}/${measured.screen}`);
  await page.keyboard.press("ArrowLeft");
  await page.waitForFunction((screen) => location.hash.endsWith(`/${screen}`), measured.screen - 1);
  await page.keyboard.press("ArrowRight");
  await page.locator(".enter").focus();
  await page.keyboard.press("Enter");
  await page.locator(".keypad").waitFor();
  await page.locator(".keypad .typed").waitFor();
  await page.keyboard.type("24.01x");
  assert.equal(await page.locator(".keypad output").textContent(), "24.01");
  await page.keyboard.press("Backspace");
  assert.equal(await page.locator(".keypad output").textContent(), "24.0");
  await page.keyboard.press("Escape");
  await page.locator(".keypad").waitFor({ state: "detached" });
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

test("a program that is stopped is said, and ticks are kept", async () => {
  const own = await serve();
  const { page, context } = await openPage(browser, own.address, { viewport: sizes.tablet });
  page.setDefaultTimeout(wait);
  await page.waitForSelector("h1");
  assert.equal(await own.stop(), 0, "a graceful stop");
  await goTo(page, "machine/1/1");
  await page.locator(".foot .on").click();
  await page.locator("input[name=unit]").nth(1).check();
  await page.locator(".notices", { hasText: "does not answer" }).waitFor();
  await goTo(page, "machine/1/1");
  await page.locator(".count", { hasText: "done" }).waitFor();
  await context.close();
  own.clear();
});

test("faults in the sheets stand on the page with their lines; without a plan it says what would do", async () => {
  const own = await serve({ withoutPlan: true });
  const { page, context } = await openPage(browser, own.address, { viewport: sizes.desktop });
  page.setDefaultTimeout(wait);
  await page.locator("h1", { hasText: "No plan yet" }).waitFor();
  assert.deepEqual(await audit(page), []);
  const file = join(own.dir, "machine.toml");
  writeFileSync(file, readFileSync(file, "utf8") + "\n[nonsense]\na = 1\n");
  await page.locator("button", { hasText: "Look again" }).click();
  await page.locator(".faults", { hasText: "machine.toml, line" }).waitFor();
  assert.deepEqual(await audit(page), []);
  await context.close();
  await own.stop();
  own.clear();
});
