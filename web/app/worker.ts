// Keeps the page and what it last showed, for when the program does not answer. Asks the program first, always.
interface Answering { request: Request; respondWith(answer: Promise<Response>): void }
interface Beginning { waitUntil(done: Promise<unknown>): void }
interface Own {
  addEventListener(type: "fetch", listener: (event: Answering) => void): void;
  addEventListener(type: "install" | "activate", listener: (event: Beginning) => void): void;
  skipWaiting(): Promise<void>;
  clients: { claim(): Promise<void> };
  location: Location;
}
const own = globalThis as unknown as Own;

const shelf = "build-book/1";
const shell = ["/", "/app.js", "/app.css", "/icon.svg", "/book.webmanifest"];
const shown = ["project", "report", "check", "build", "parts", "shop", "drawing", "drawings"].map((name) => `/api/${name}`);

function isKept(address: URL): boolean {
  return address.origin === own.location.origin && (!address.pathname.startsWith("/api/") || shown.includes(address.pathname));
}

async function answer(request: Request): Promise<Response> {
  const kept = await caches.open(shelf);
  try {
    const fresh = await fetch(request);
    if (fresh.ok) await kept.put(request, fresh.clone());
    return fresh;
  } catch (fault) {
    const before = await kept.match(request);
    if (!before) throw fault;
    const headers = new Headers(before.headers);
    headers.set("Fitwright-Kept", "1");
    return new Response(before.body, { status: before.status, headers });
  }
}

own.addEventListener("install", (event) => {
  event.waitUntil(caches.open(shelf).then((kept) => kept.addAll(shell)).then(() => own.skipWaiting()));
});
own.addEventListener("activate", (event) => event.waitUntil(own.clients.claim()));
own.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method === "GET" && isKept(new URL(request.url))) event.respondWith(answer(request));
});
