// The setup's drawings, as they go to paper.
import { useState } from "preact/hooks";
import { drawingAddress, type DrawingKind } from "../../core/client.ts";
import type { Setup, Unit } from "../../core/wire.ts";

type State = "coming" | "there" | "none";

const names: Record<DrawingKind, string> = { setup: "As it sits", holes: "Holes", cuts: "Cuts" };

export function DrawingSheet({ setup, unit, heading }: { setup: Setup; unit: Unit; heading: string }) {
  const [kind, setKind] = useState<DrawingKind>("setup");
  const [state, setState] = useState<State>("coming");
  const [large, setLarge] = useState(false);
  if (setup.parts.length === 0) return null;
  const choose = (chosen: DrawingKind): void => {
    setState("coming");
    setKind(chosen);
  };
  return (
    <figure class={large ? "drawing large" : "drawing"} onKeyDown={(event) => { if (event.key === "Escape") setLarge(false); }}>
      <figcaption>
        <div class="choice" role="group" aria-label="Which drawing">
          {(Object.keys(names) as DrawingKind[]).map((k) => (
            <button key={k} type="button" aria-pressed={k === kind} onClick={() => choose(k)}>{names[k]}</button>
          ))}
          <button type="button" aria-pressed={large} onClick={() => setLarge(!large)}>{large ? "Smaller" : "Larger"}</button>
        </div>
        <span class="coming" aria-live="polite">
          {state === "coming" ? "Being drawn." : state === "none" ? "There is no such drawing of this setup." : ""}
        </span>
      </figcaption>
      <img
        key={`${kind}${unit}`}
        class={state}
        src={drawingAddress(setup.number, kind, unit)}
        alt={`${names[kind]}: ${heading}`}
        onLoad={() => setState("there")}
        onError={() => setState("none")}
      />
    </figure>
  );
}
