// What is said beside the work: a note, a part spoiled, a change in the shop.
import { useState } from "preact/hooks";
import { record } from "../../app/build.ts";
import type { StepOnPiece } from "../../core/wire.ts";

type Saying = "note" | "part_remade" | "shop_change";

function Words(props: { label: string; button: string; keep: (text: string) => void }) {
  const [text, setText] = useState("");
  const keep = (event: Event): void => {
    event.preventDefault();
    if (text.trim() === "") return;
    props.keep(text.trim());
    setText("");
  };
  return (
    <form class="words" onSubmit={keep}>
      <label>
        <span>{props.label}</span>
        <textarea rows={2} maxLength={600} value={text} onInput={(event) => setText(event.currentTarget.value)} />
      </label>
      <button type="submit" disabled={text.trim() === ""}>{props.button}</button>
    </form>
  );
}

export function Aside({ place, number, part }: { place: StepOnPiece | undefined; number: string; part: string }) {
  const [sure, setSure] = useState(false);
  const [kept, setKept] = useState("");
  const say = (kind: Saying, what: string, text: string): void => {
    const where = kind === "note" && place ? place : { part: kind === "shop_change" ? "" : part };
    void record(what, { kind, text, ...where });
    setKept(`Kept: ${what}.`);
    setSure(false);
  };
  const piece = part.replaceAll("_", " ").replace("#", " no. ");
  return (
    <details class="aside">
      <summary>A note, a spoiled part, a change in the shop</summary>
      <Words label={number ? `A note at ${number}` : "A note"} button="Keep the note" keep={(text) => say("note", "the note", text)} />
      <Words label="What is different in the shop from now on" button="Keep the change" keep={(text) => say("shop_change", "the change in the shop", text)} />
      {part !== "" && !sure && <button type="button" onClick={() => setSure(true)}>The {piece} is spoiled: begin it anew</button>}
      {sure && (
        <div class="sure">
          <p><span class="mark stop">Stop</span> All that was done on the {piece} is open again. What was recorded stays in the log.</p>
          <div class="choice">
            <button type="button" onClick={() => say("part_remade", `the ${piece} begun anew`, "")}>Begin it anew</button>
            <button type="button" onClick={() => setSure(false)}>Leave it</button>
          </div>
        </div>
      )}
      <p aria-live="polite">{kept}</p>
    </details>
  );
}
