// How long the page takes to be seen, on this machine: node bench/first_paint.mjs PROJECT [TIMES]
// Wall time means something on a machine at rest alone; processor time of the page's main thread and of the server beside it.
import { readFileSync } from "node:fs";
import { openBrowser, serve } from "../web/tests/served.mjs";

const [project, times = "5"] = process.argv.slice(2);
const ticksPerSecond = 100;
const served = await serve({ project });
const browser = await openBrowser();

function serverSeconds() {
  const fields = readFileSync(`/proc/${served.pid}/stat`, "utf8").split(") ")[1].split(" ");
  return (Number(fields[11]) + Number(fields[12])) / ticksPerSecond;
}

async function once() {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, serviceWorkers: "block" });
  const page = await context.newPage();
  const tools = await context.newCDPSession(page);
  await tools.send("Performance.enable", { timeDomain: "threadTicks" });
  const before = serverSeconds();
  const begun = performance.now();
  await page.goto(served.address);
  await page.waitForSelector(".overview .next");
  const whole_ms = performance.now() - begun;
  const paints = await page.evaluate(() => performance.getEntriesByType("paint").map((entry) => [entry.name, entry.startTime]));
  const { metrics } = await tools.send("Performance.getMetrics");
  const metric = (name) => 1000 * metrics.find((one) => one.name === name).value;
  await context.close();
  return {
    first_paint_ms: Object.fromEntries(paints)["first-contentful-paint"], overview_ms: whole_ms, page_processor_ms: metric("TaskDuration"),
    server_processor_ms: 1000 * (serverSeconds() - before),
  };
}

const runs = [];
for (let i = 0; i < Number(times); ++i) runs.push(await once());
const middle = (values) => values.sort((a, b) => a - b)[Math.floor(values.length / 2)];
for (const name of Object.keys(runs[0])) {
  const values = runs.map((run) => run[name]);
  console.log(`${name}: first ${values[0].toFixed(0)}, median ${middle([...values]).toFixed(0)}`);
}
await browser.close();
await served.stop();
served.clear();
