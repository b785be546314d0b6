import { render } from "preact";
import { Shell } from "./shell.tsx";
import { load } from "./state.ts";
import "./style.css";

const root = document.getElementById("book");
if (root) {
  root.textContent = "";
  render(<Shell />, root);
}
void load();
