// Events that the server has not got yet, kept on this device in their order. No DOM here.
import type { RecordEvent } from "./record.ts";

export interface Refused { event: RecordEvent; say: string }

export interface Queue {
  // In the order in which they were added.
  load(): Promise<{ waiting: RecordEvent[]; refused: Refused[] }>;
  // On this device's disk when it is fulfilled.
  add(events: RecordEvent[]): Promise<void>;
  remove(ids: string[]): Promise<void>;
  // Out of the way of what follows, and kept to be looked at.
  refuse(refused: Refused[]): Promise<void>;
}

// While the page is open, and no longer.
export function fleetingQueue(): Queue {
  let waiting: RecordEvent[] = [];
  const refused: Refused[] = [];
  return {
    load: async () => ({ waiting: [...waiting], refused: [...refused] }),
    add: async (events) => { waiting = [...waiting, ...events]; },
    remove: async (ids) => { waiting = waiting.filter((event) => !ids.includes(event.id)); },
    refuse: async (more) => {
      refused.push(...more);
      waiting = waiting.filter((event) => !more.some((one) => one.event.id === event.id));
    },
  };
}

interface Row { seq?: number; folder: string; id: string; event: RecordEvent; refused: string }

const databaseName = "fitwright-queue";
const rows = "rows";

function answered<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error("not kept"));
  });
}

function open(factory: IDBFactory): Promise<IDBDatabase> {
  const request = factory.open(databaseName, 1);
  request.onupgradeneeded = () => {
    const store = request.result.createObjectStore(rows, { keyPath: "seq", autoIncrement: true });
    store.createIndex("folder", "folder");
    store.createIndex("id", "id", { unique: true });
  };
  return answered(request);
}

function committed(transaction: IDBTransaction): Promise<void> {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("not kept"));
  });
}

// folder: of the project, so that several served from one address stay apart. Rejects where the browser keeps nothing.
export async function deviceQueue(factory: IDBFactory, folder: string): Promise<Queue> {
  const database = await open(factory);
  const change = async (work: (store: IDBObjectStore) => void): Promise<void> => {
    const transaction = database.transaction(rows, "readwrite", { durability: "strict" });
    const end = committed(transaction);
    work(transaction.objectStore(rows));
    return end;
  };
  const withRow = (store: IDBObjectStore, id: string, work: (cursor: IDBCursorWithValue) => void): void => {
    const request = store.index("id").openCursor(id);
    request.onsuccess = () => { if (request.result) work(request.result); };
  };
  return {
    load: async () => {
      const store = database.transaction(rows).objectStore(rows);
      const found = (await answered(store.index("folder").getAll(folder))) as Row[];
      found.sort((a, b) => (a.seq ?? 0) - (b.seq ?? 0));
      return {
        waiting: found.filter((row) => row.refused === "").map((row) => row.event),
        refused: found.filter((row) => row.refused !== "").map((row) => ({ event: row.event, say: row.refused })),
      };
    },
    add: (events) => change((store) => {
      for (const event of events) store.add({ folder, id: event.id, event, refused: "" } satisfies Row);
    }),
    remove: (ids) => change((store) => { for (const id of ids) withRow(store, id, (cursor) => cursor.delete()); }),
    refuse: (refused) => change((store) => {
      for (const one of refused) {
        withRow(store, one.event.id, (cursor) => cursor.update({ ...(cursor.value as Row), refused: one.say }));
      }
    }),
  };
}

// What the first cannot take is kept by the second, and said.
export function sturdyQueue(first: Queue, second: Queue, failed: () => void): Queue {
  return {
    load: async () => {
      const [a, b] = await Promise.all([first.load(), second.load()]);
      return { waiting: [...a.waiting, ...b.waiting], refused: [...a.refused, ...b.refused] };
    },
    add: async (events) => {
      try {
        await first.add(events);
      } catch {
        failed();
        await second.add(events);
      }
    },
    remove: async (ids) => { await Promise.all([first.remove(ids), second.remove(ids)]); },
    refuse: async (refused) => { await Promise.all([first.refuse(refused), second.refuse(refused)]); },
  };
}
