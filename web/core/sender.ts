// Brings what waits on this device to the server: in order, each until it is acknowledged, none twice (the server
// knows events by their id). No DOM here.
import type { Answer } from "./client.ts";
import type { Queue, Refused } from "./queue.ts";
import type { RecordEvent } from "./record.ts";
import type { Build } from "./wire.ts";

export interface SenderParts {
  queue: Queue;
  post(events: RecordEvent[]): Promise<Answer<Build>>;
  // What stands, what waits still, and what the server would not take.
  told(build: Build | undefined, waiting: RecordEvent[], refused: Refused[], offline: boolean): void;
  later(work: () => void, ms: number): void;
}

export interface Sender {
  // Kept on this device when it is fulfilled; sent as soon as can be.
  add(events: RecordEvent[]): Promise<void>;
  // Tries now.
  send(): Promise<void>;
}

const mostAtOnce = 50;
const firstPause_ms = 500;
const longestPause_ms = 15_000;

function isPassing(answer: Answer<Build> & { ok: false }): boolean {
  return answer.offline || answer.status === 403 || answer.status === 429 || answer.status >= 500;
}

export function makeSender(parts: SenderParts): Sender {
  let busy: Promise<void> | undefined;
  let again = false;
  let pause_ms = firstPause_ms;
  let most = mostAtOnce;

  const tell = async (build: Build | undefined, offline: boolean): Promise<void> => {
    const { waiting, refused } = await parts.queue.load();
    parts.told(build, waiting, refused, offline);
  };
  const settle = async (batch: RecordEvent[], build: Build): Promise<void> => {
    const said = new Map(build.kept.map((kept) => [kept.id, kept]));
    const refused = batch.filter((event) => said.get(event.id)?.as === "refused");
    await parts.queue.refuse(refused.map((event) => ({ event, say: said.get(event.id)?.say.join(" ") || "refused" })));
    await parts.queue.remove(batch.filter((event) => said.has(event.id) && !refused.includes(event)).map((event) => event.id));
  };
  // False when it is to be tried later.
  const sendOnce = async (batch: RecordEvent[]): Promise<boolean> => {
    const answer = await parts.post(batch);
    if (answer.ok && answer.value.kept.length > 0) {
      await settle(batch, answer.value);
      await tell(answer.value, false);
      pause_ms = firstPause_ms;
      most = mostAtOnce;
      return true;
    }
    if (answer.ok || isPassing(answer)) {
      await tell(undefined, !answer.ok && answer.offline);
      return false;
    }
    // One of them is not to be taken: found by sending fewer.
    if (batch.length > 1) {
      most = 1;
      return true;
    }
    const say = answer.faults.map((fault) => fault.message).join(" ") || "refused";
    await parts.queue.refuse(batch.map((event) => ({ event, say })));
    await tell(undefined, false);
    return true;
  };
  const work = async (): Promise<void> => {
    do {
      again = false;
      for (;;) {
        const batch = (await parts.queue.load()).waiting.slice(0, most);
        if (batch.length === 0) break;
        if (await sendOnce(batch)) continue;
        parts.later(() => void send(), pause_ms);
        pause_ms = Math.min(2 * pause_ms, longestPause_ms);
        return;
      }
    } while (again);
  };
  const send = (): Promise<void> => {
    if (busy) again = true;
    else busy = work().finally(() => { busy = undefined; });
    return busy ?? Promise.resolve();
  };
  return {
    send,
    add: async (events) => {
      await parts.queue.add(events);
      await tell(undefined, false);
      void send();
    },
  };
}
