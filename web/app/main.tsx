import { render } from "preact";
import { Shell } from "./shell.tsx";
import { listen } from "./build.ts";
import { load } from "./state.ts";
import "./style.css";

const root = document.getElementById("book");
if (root) {
  root.textContent = "";
  render(<Shell />, root);
}
void load().then(listen);

// Where the browser allows it, the page opens without the program, too. What was asked for before that is asked
// for once more, so that it is kept.
const workers = navigator.serviceWorker as ServiceWorkerContainer | undefined;
if (workers && isSecureContext) {
  const first = !workers.controller;
  workers.register("/worker.js").then(
    () => { if (first) workers.addEventListener("controllerchange", () => void load(), { once: true }); },
    () => undefined,
  );
}
