// The program killed at random moments while four devices send: what was acknowledged is in the log, once.
import assert from "node:assert/strict";
import { randomBytes } from "node:crypto";
import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { test } from "node:test";
import { root, serve } from "./served.mjs";

const deep = process.env.FITWRIGHT_DEEP !== undefined;
const kills = deep ? 300 : 6;
const clients = 4;
const programs = process.env.FITWRIGHT_PROGRAMS ?? join(root, "build/release");

function noteOf(text) {
  return { id: randomBytes(16).toString("hex"), time_ms: 1, build: 1, plan: "", kind: "note", part: "", step: "", text };
}

// Sends until the program is gone; each again, by the same id, where no answer came.
async function client(address, acknowledged, left, gone) {
  let token;
  while (!gone.now) {
    try {
      token ??= (await (await fetch(`${address}api/token`)).json()).token;
      const event = left.shift() ?? noteOf("said under load");
      left.unshift(event);
      const answer = await fetch(`${address}api/events`, {
        method: "POST", headers: { "Content-Type": "application/json", "Fitwright-Token": token },
        body: JSON.stringify({ schema: "fitwright-events/1", events: [event] }),
      });
      if (answer.status === 429) await new Promise((resolve) => setTimeout(resolve, 50));
      if (!answer.ok) continue;
      await answer.json();
      acknowledged.add(event.id);
      left.shift();
    } catch {
      token = undefined;
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
  }
}

test(`killed ${kills} times under load: nothing that was acknowledged is lost, nothing is doubled`, async () => {
  const acknowledged = new Set();
  const left = Array.from({ length: clients }, () => []);
  let served = await serve({ withoutPlan: true });
  const { place, dir } = served;
  for (let i = 0; i < kills; ++i) {
    const gone = { now: false };
    const sending = left.map((mine) => client(served.address, acknowledged, mine, gone));
    const before = acknowledged.size;
    while (acknowledged.size === before) await new Promise((resolve) => setTimeout(resolve, 1));
    await new Promise((resolve) => setTimeout(resolve, Math.random() * 100));
    await served.stop("SIGKILL");
    gone.now = true;
    await Promise.all(sending);
    served = await serve({ place });
  }
  assert.equal(await served.stop(), 0);
  const log = spawnSync(join(programs, "fitwright"), ["log", dir, "--json"], { encoding: "utf8", maxBuffer: 1 << 28 });
  assert.equal(log.status, 0, log.stderr);
  const ids = JSON.parse(log.stdout).events.map((event) => event.id);
  assert.equal(new Set(ids).size, ids.length, "none is doubled");
  assert.ok(acknowledged.size > kills, `${acknowledged.size} acknowledged`);
  assert.deepEqual([...acknowledged].filter((id) => !ids.includes(id)), []);
  served.clear();
});
