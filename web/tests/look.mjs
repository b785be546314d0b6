// Screenshots to be looked at: node tests/look.mjs PROJECT FOLDER [PAGE ...]
import { mkdirSync } from "node:fs";
import { openBrowser, openPage, serve, sizes } from "./served.mjs";

const [project, folder, ...names] = process.argv.slice(2);
const pages = names.length > 0 ? names : ["overview", "parts", "order", "machine/1/0", "machine/3/6", "fit", "shop", "print"];
mkdirSync(folder, { recursive: true });
const served = await serve({ project });
const browser = await openBrowser();
for (const [size, viewport] of Object.entries(sizes)) {
  for (const ground of ["paper", "night"]) {
    if (ground === "night" && size !== "tablet") continue;
    const { page, context, wrong } = await openPage(browser, served.address, {
      viewport, colorScheme: ground === "night" ? "dark" : "light",
    });
    await page.waitForSelector("h1", { timeout: 120_000 });
    for (const name of pages) {
      await page.evaluate((hash) => { location.hash = hash; }, `#/${name}`);
      await page.waitForSelector(`.page-${name.split("/")[0]} h1`);
      await page.waitForTimeout(300);
      if (/^(parts|shop)/.test(name)) await page.waitForSelector(".page-parts table, .page-shop table");
      if (name.startsWith("machine")) {
        await page.waitForSelector(".drawing img.there, .drawing img.none", { state: "attached", timeout: 600_000 }).catch(() => {});
      }
      if (name.endsWith("/keypad")) {
        await page.locator(".enter").first().click();
        for (const key of "40.03") await page.keyboard.press(key);
      }
      await page.screenshot({ path: `${folder}/${name.replaceAll("/", "-")}-${size}-${ground}.png` });
    }
    if (wrong.length > 0) console.log(size, ground, wrong);
    await context.close();
  }
}
await browser.close();
console.log("stopped with", await served.stop());
served.clear();
