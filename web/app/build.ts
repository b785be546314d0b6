// What is recorded: kept on this device, sent to the build log, taken back; and word of what others recorded.
import { computed, effect, signal } from "@preact/signals";
import { postEvents } from "../core/client.ts";
import { deviceQueue, fleetingQueue, sturdyQueue, type Queue, type Refused } from "../core/queue.ts";
import {
  newId, placeKey, standingOf, undoOf, type EventKind, type LimitsOf, type RecordEvent,
} from "../core/record.ts";
import { makeSender, type Sender } from "../core/sender.ts";
import type { Book, StepOnPiece, ToBring } from "../core/wire.ts";
import { book, build, buildNumber, load, loadBuild, offline, project, unit, unpaired } from "./state.ts";

export const waiting = signal<RecordEvent[]>([]);
export const refused = signal<Refused[]>([]);
// This browser keeps nothing beyond the open page.
export const notKept = signal(false);

let sender: Promise<Sender> | undefined;

async function queueOf(folder: string): Promise<Queue> {
  const failed = (): void => { notKept.value = true; };
  try {
    return sturdyQueue(await deviceQueue(indexedDB, folder), fleetingQueue(), failed);
  } catch {
    failed();
    return fleetingQueue();
  }
}

async function senderOf(folder: string): Promise<Sender> {
  const queue = await queueOf(folder);
  return makeSender({
    queue,
    post: (events) => postEvents(events, buildNumber.value, unit.value),
    told: (stands, still, notTaken, silent) => {
      if (stands) build.value = stands;
      waiting.value = still;
      refused.value = notTaken;
      if (stands || silent) offline.value = silent;
    },
    later: (work, ms) => setTimeout(work, ms),
  });
}

effect(() => {
  const folder = project.value?.folder;
  if (folder === undefined || sender) return;
  sender = senderOf(folder);
  void sender.then((ready) => ready.send());
});

function limitsIn(shown: Book | undefined): LimitsOf {
  const lines = new Map(shown?.setups.flatMap((setup) => setup.steps.map((step) => [step.id, step.measure])));
  return (place) => {
    const line = lines.get(place.step);
    return line && line.upper_mm > line.lower_mm ? line : undefined;
  };
}
const bookLimits = computed(() => limitsIn(book.value));

export const standing = computed(() => standingOf(build.value, waiting.value, book.value?.plan ?? "", bookLimits.value));
// Where the size of this step is to be brought by all that was read.
export function bringAt(place: StepOnPiece): ToBring | undefined {
  return build.value?.bring.find((one) => one.step === place.step && one.part === place.part);
}
export function limitsAt(place: StepOnPiece): ReturnType<LimitsOf> {
  return bringAt(place) ?? standing.value.limits.get(placeKey(place)) ?? bookLimits.value(place);
}
export function isDone(place: StepOnPiece): boolean {
  return standing.value.done.has(placeKey(place));
}

// The last thing recorded here that can be taken back.
export interface Undoable { what: string; address: string; events: RecordEvent[] }
export const undoable = signal<Undoable | undefined>(undefined);

interface Saying { kind: EventKind; step?: string; part?: string; text?: string; value_mm?: number; typed?: string; instrument?: string }

async function add(sayings: Saying[]): Promise<RecordEvent[]> {
  const plan = book.value?.plan ?? "";
  const events = sayings.map((saying) => ({
    id: newId(), time_ms: Date.now(), build: buildNumber.value, plan, part: "", step: "", text: "", ...saying,
  }));
  const ready = await sender;
  // Shown as kept when this device's disk has it, not before.
  if (ready) await ready.add(events);
  else waiting.value = [...waiting.value, ...events];
  return events;
}

// what: in words, for who wants it undone.
export async function record(what: string, ...sayings: Saying[]): Promise<void> {
  const address = location.hash;
  const events = await add(sayings);
  undoable.value = undoOf(events, standing.value).length > 0 ? { what, address, events } : undefined;
}

export async function undo(): Promise<void> {
  const last = undoable.value;
  if (!last) return;
  undoable.value = undefined;
  location.hash = last.address;
  await add(undoOf(last.events, standing.value));
}

// Word of what other devices and the terminal recorded, and of a plan made anew.
const beforeListeningAgain_ms = 5000;
let live: EventSource | undefined;
let signSeen = "";
export function listen(): void {
  live?.close();
  if (unpaired.value) return;
  live = new EventSource("/api/live");
  live.onopen = () => {
    offline.value = false;
    void sender?.then((ready) => ready.send());
  };
  live.onerror = () => {
    offline.value = true;
    if (live?.readyState === EventSource.CLOSED) setTimeout(listen, beforeListeningAgain_ms);
  };
  live.onmessage = (event: MessageEvent<string>) => {
    const folderOf = (sign: string): string => sign.split("-")[0] ?? "";
    const folderChanged = signSeen !== "" && folderOf(signSeen) !== folderOf(event.data);
    signSeen = event.data;
    if (folderChanged || !book.value) void load();
    else if (build.value?.sign !== event.data) void loadBuild();
  };
}
addEventListener("online", () => void sender?.then((ready) => ready.send()));
