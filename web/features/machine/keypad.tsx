// The number that was read off, in as few taps as it has figures.
import { useEffect, useRef, useState } from "preact/hooks";
import { limitsAt, record } from "../../app/build.ts";
import { sizeFrom, sizeText, verdict } from "../../core/size.ts";
import type { Step, StepOnPiece, Unit } from "../../core/wire.ts";

const doubleTouch_ms = 500;  // what is asked back stands where the finger just was

const keys = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0"];

// Outside the limits: a slip of the finger, of the unit or of the reading, before it is what was cut.
function isOut(mm: number | undefined, place: StepOnPiece, unit: Unit): boolean {
  const limits = limitsAt(place);
  return mm !== undefined && limits !== undefined && !verdict(mm, limits.lower_mm, limits.upper_mm, unit).within;
}

function Said({ typed, place, unit }: { typed: string; place: StepOnPiece; unit: Unit }) {
  const mm = sizeFrom(typed, unit);
  const limits = limitsAt(place);
  if (!limits) return <p class="limits">A size for the build log.</p>;
  const range = `${sizeText(limits.lower_mm, unit)} to ${sizeText(limits.upper_mm, unit)}`;
  const said = mm === undefined ? undefined : verdict(mm, limits.lower_mm, limits.upper_mm, unit);
  return (
    <p class="limits" aria-live="polite">
      Limits {range}{said && <>: <span class={said.within ? "" : "out"}>{said.word}</span></>}
    </p>
  );
}

export function Keypad(props: { step: Step; place: StepOnPiece; number: string; heading: string; unit: Unit; close: () => void }) {
  const [typed, setTyped] = useState("");
  const [unit, setUnit] = useState<Unit>(props.unit);
  const [sure, setSure] = useState("");  // the size that was asked back about
  const [settling, setSettling] = useState(false);
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    dialog.current?.showModal();
    dialog.current?.focus();
  }, []);
  const mm = sizeFrom(typed, unit);
  const asking = sure === `${typed}${unit === "inch" ? "in" : "mm"}` && isOut(mm, props.place, unit);
  const other: Unit = unit === "inch" ? "mm" : "inch";
  const press = (key: string): void => {
    const longer = typed + key;
    if (longer === "." || sizeFrom(longer, unit) !== undefined) setTyped(longer);
  };
  const keep = (): void => {
    if (mm === undefined) return;
    const sized = `${typed}${unit === "inch" ? "in" : "mm"}`;
    if (isOut(mm, props.place, unit) && sure !== sized) {
      setSure(sized);
      setSettling(true);
      setTimeout(() => setSettling(false), doubleTouch_ms);
      return;
    }
    void record(`${sized} at ${props.number}`, {
      kind: "reading", ...props.place, typed: sized, value_mm: mm, instrument: props.step.measure?.instrument ?? "",
    });
    props.close();
  };
  const onKey = (event: KeyboardEvent): void => {
    if (keys.includes(event.key)) press(event.key);
    else if (event.key === ",") press(".");
    else if (event.key === "Backspace") setTyped(typed.slice(0, -1));
    else if (event.key === "Enter" && !(event.target as HTMLElement).closest("button")) keep();
    else return;
    event.preventDefault();
  };
  return (
    <dialog ref={dialog} tabIndex={-1} class="keypad" aria-label="The size as measured" onClose={props.close} onKeyDown={onKey}>
      <p class="of">{props.heading}</p>
      <p class="typed"><output aria-label="As keyed in">{typed || " "}</output></p>
      <fieldset class="choice units">
        <legend>Unit</legend>
        {(["mm", "inch"] as Unit[]).map((u) => (
          <label key={u}>
            <input type="radio" name="keypad-unit" checked={unit === u} onChange={() => setUnit(u)} />
            <span>{u === "inch" ? "in" : "mm"}</span>
          </label>
        ))}
      </fieldset>
      <div class="said">
        <Said typed={typed} place={props.place} unit={unit} />
        {asking && <p class="ask" role="alert">
          {isOut(sizeFrom(typed, other), props.place, other)
            ? "Wipe it and measure again; then keep what it is."
            : `It would be within in ${other === "inch" ? "inches" : "mm"}: if that was meant, touch ${other === "inch" ? "in" : "mm"}.`}
        </p>}
      </div>
      <div class="keys">
        {keys.map((key) => <button key={key} type="button" onClick={() => press(key)}>{key}</button>)}
        <button type="button" aria-label="Take the last figure back" onClick={() => setTyped(typed.slice(0, -1))}>&#8592;</button>
      </div>
      <div class="ends">
        <button type="button" class="back" onClick={props.close}>Leave it</button>
        <button type="button" class="on" disabled={mm === undefined} aria-disabled={settling} onClick={(event) => (settling && event.detail > 0) || keep()}>{asking ? "It is so: keep it" : "Keep it"}</button>
      </div>
    </dialog>
  );
}
