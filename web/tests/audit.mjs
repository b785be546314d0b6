// An audit of what a page shows, by the rules of WCAG 2.2 AA and good practice.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

export async function audit(page) {
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
