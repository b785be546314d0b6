// At the machine: one step fills the screen.
import { signal } from "@preact/signals";
import { useEffect, useLayoutEffect } from "preact/hooks";
import { bringAt, isDone, record, standing, undo, undoable } from "../../app/build.ts";
import { addressOf, place, placeFrom, wholeAt } from "../../app/state.ts";
import { placeKey } from "../../core/record.ts";
import { firstOpen, nextOf, setupOf, stillAwaited } from "../../core/progress.ts";
import { screensOf, sentencesOf, withMinus, type SetupScreens, type StepScreen } from "../../core/sheet.ts";
import type { Book, Entry, Setup, StepOnPiece } from "../../core/wire.ts";
import { Entries, TableOf } from "../../drawing/pieces.tsx";
import { DrawingSheet } from "./drawing_sheet.tsx";
import { Keypad } from "./keypad.tsx";
import { Places } from "./places.tsx";
import { Measured } from "./measured.tsx";
import { Aside } from "./aside.tsx";

// The step whose size is being keyed in: gone to another, it is closed.
const keypadFor = signal("");

// Screen 0 sets up; 1..n are the steps; n+1 says what is left to see to.
interface Screen { setup: Setup; copy: number; screens: SetupScreens; index: number; last: number }

// The piece that the address names, else the first on which something is open.
function copyAt(setup: Setup): number {
  const asked = wholeAt(2);
  if (asked !== undefined && asked >= 1 && asked <= setup.copies.length) return asked - 1;
  const open = setup.copies.findIndex((_, copy) => firstOpen(setup, copy, standing.value.done) >= 0);
  return Math.max(0, open);
}

function screenAt(book: Book): Screen | undefined {
  const asked = setupOf(book, wholeAt(0) ?? 0);
  const next = nextOf(book, standing.value.done);
  const setup = asked ?? next?.setup ?? book.setups[0];
  if (!setup) return undefined;
  const screens = screensOf(setup);
  const last = screens.steps.length + (screens.after.length > 0 ? 1 : 0);
  const index = asked ? Math.min(wholeAt(1) ?? 0, last) : next && next.index > 0 ? next.index + 1 : 0;
  return { setup, copy: asked ? copyAt(setup) : next?.copy ?? 0, screens, index, last };
}

function placeOf(at: Screen, step: StepScreen | undefined): StepOnPiece | undefined {
  return step?.step && { step: step.step.id, part: at.setup.copies[at.copy] ?? "" };
}
function isStepDone(at: Screen, step: StepScreen | undefined): boolean {
  const where = placeOf(at, step);
  return where !== undefined && isDone(where);
}
function screenAddress(at: Screen, index: number): string {
  return addressOf("machine", at.setup.number, index, at.copy + 1);
}

function goTo(address: string): void {
  keypadFor.value = "";
  location.hash = address;
  place.value = placeFrom(address);  // at once, for a key that follows closely
}

// Through the steps, then the next piece of several alike, then the next setup.
function onward(book: Book, at: Screen): string | undefined {
  if (at.index < at.last) return screenAddress(at, at.index + 1);
  if (at.copy + 1 < at.setup.copies.length) return addressOf("machine", at.setup.number, 0, at.copy + 2);
  const following = setupOf(book, at.setup.number + 1);
  return following && addressOf("machine", following.number, 0, 1);
}
function backward(book: Book, at: Screen): string | undefined {
  if (at.index > 0) return screenAddress(at, at.index - 1);
  if (at.copy > 0) return addressOf("machine", at.setup.number, at.last, at.copy);
  const before = setupOf(book, at.setup.number - 1);
  return before && addressOf("machine", before.number, screensOf(before).steps.length, before.copies.length);
}

function oneALine(entries: Entry[]): Entry[] {
  return entries.flatMap((entry) => sentencesOf(entry.text).map((text, i) => ({ ...entry, text, label: i === 0 ? entry.label : "" })));
}

// Whose size is measured, before what is done for it.
function measuredIn(step: StepScreen): string {
  return step.measured && step.step?.measure ? (step.step.measure.feature.split(".")[1] ?? "").replaceAll("_", " ") : "";
}
function headingOf(step: StepScreen): string {
  const feature = measuredIn(step);
  return feature === "" ? step.text : `${feature.charAt(0).toUpperCase()}${feature.slice(1)}. ${step.text}`;
}

function StepList({ at }: { at: Screen }) {
  return (
    <ol class="steps" aria-label="Steps of this setup">
      {at.screens.steps.map((step, i) => {
        const done = isStepDone(at, step);
        return (
          <li key={step.number} class={done ? "done" : ""}>
            <a href={screenAddress(at, i + 1)}>
              <span class="box" aria-hidden="true">{done ? "\u00d7" : ""}</span>
              <span class="number">{step.number}</span>
              <span class="text">{sentencesOf(step.text)[0]}{measuredIn(step) !== "" && <em> measure {measuredIn(step)}</em>}{done && <em> done</em>}</span>
            </a>
          </li>
        );
      })}
    </ol>
  );
}

function SettingUp({ book, at }: { book: Book; at: Screen }) {
  const waits = stillAwaited(book, at.setup, standing.value.done);
  const entries = at.screens.preparing.filter((entry) => entry.label !== "Why");
  const why = at.screens.preparing.slice(at.screens.preparing.findIndex((entry) => entry.label === "Why"));
  const reasons = why.filter((entry) => entry.label === "Why" || (entry.label === "" && why[0]?.label === "Why"));
  return (
    <div class="setting-up">
      {waits.length > 0 && (
        <p class="look"><span class="mark look">Look here</span> Not ticked off yet: setup {waits.join(", ")}.</p>
      )}
      <Entries entries={oneALine(entries)} />
      {at.screens.tools && <TableOf table={at.screens.tools} caption="Tools, in order" />}
      <StepList at={at} />
      {reasons.length > 0 && (
        <details><summary>Why this way</summary><Entries entries={reasons} /></details>
      )}
    </div>
  );
}

function Passes({ step }: { step: StepScreen }) {
  if (step.passes.readings.length === 0) return null;
  return (
    <div class="passes">
      <p>{step.passes.readings.length} passes, to {step.passes.axis}</p>
      <ol>{step.passes.readings.map((reading, i) => <li key={i}>{withMinus(reading)}</li>)}</ol>
    </div>
  );
}

// What a reading means stands before the figures of the cut, and whoever keyed it in had scrolled past them.
function useReadingInSight(reading: string | undefined): void {
  useLayoutEffect(() => {
    const measured = reading === undefined ? null : document.querySelector(".measured");
    const top = measured?.getBoundingClientRect().top ?? 0;
    if (measured && (top < 0 || top > innerHeight / 2)) measured.scrollIntoView({ block: "start" });
  }, [reading]);
}

function StepBody({ book, at, step }: { book: Book; at: Screen; step: StepScreen }) {
  const where = placeOf(at, step);
  const measured = step.measured && where && (
    <Measured place={where} number={step.number} unit={book.unit} open={() => { keypadFor.value = where.step; }} />
  );
  const reading = where && standing.value.readings.get(placeKey(where))?.id;
  const isRead = reading !== undefined;
  const bring = where && bringAt(where);
  useReadingInSight(reading);
  return (
    <div class="step">
      {bring && !isRead && <p class="bring"><span class="mark look">Look here</span> {bring.say}{step.places.length > 0 && " The figures below are the plan's."}</p>}
      <p class="what">{step.text}</p>
      {isRead && measured}
      {step.cautions.map((caution, i) => (
        <p key={i} class="stop"><span class="mark stop">Caution</span> {caution}</p>
      ))}
      <ul class="details">{step.details.map((detail, i) => <li key={i}>{detail}</li>)}</ul>
      <Passes step={step} />
      {step.places.length > 0 && <Places key={step.number + at.copy} step={step} unit={book.unit} />}
    </div>
  );
}

function Body({ book, at }: { book: Book; at: Screen }) {
  const step = at.screens.steps[at.index - 1];
  if (at.index === 0) return <SettingUp book={book} at={at} />;
  if (step) return <StepBody book={book} at={at} step={step} />;
  return <div class="after"><p class="what">Before it comes out</p><Entries entries={at.screens.after} /></div>;
}

function Foot({ book, at }: { book: Book; at: Screen }) {
  const step = at.screens.steps[at.index - 1];
  const where = placeOf(at, step);
  const done = isStepDone(at, step);
  const back = backward(book, at);
  const on = onward(book, at);
  const last = undoable.value;
  // What is to be measured is entered first; done without it is the smaller button.
  const unread = step?.measured === true && where !== undefined && standing.value.readings.get(placeKey(where)) === undefined;
  const tick = (): void => {
    if (where && !done) void record(`${step?.number ?? ""} done`, { kind: "step_done", ...where });
    if (on) goTo(on);
  };
  const takeBack = (): void => {
    if (where) void record(`${step?.number ?? ""} not done`, { kind: "step_undone", ...where });
  };
  return (
    <div class="foot">
      <button type="button" class="back" disabled={!back} onClick={() => back && goTo(back)}>Back</button>
      {done && <button type="button" class="undone" onClick={takeBack}>Not done after all</button>}
      {!done && last && (
        <button type="button" class="undo" onClick={() => { void undo(); goTo(last.address); }}>
          Undo<span class="small"> {last.what}</span>
        </button>
      )}
      {unread && where && (
        <button type="button" class="enter" onClick={() => { keypadFor.value = where.step; }}>Enter the size</button>
      )}
      <button type="button" class={unread ? "on quiet" : "on"} onClick={tick} disabled={!on && (!step || done)}>
        {step && !done ? "Done" : at.index === 0 ? "It is set up" : "On"}
      </button>
    </div>
  );
}

function useKeys(book: Book): void {
  useEffect(() => {
    const onKey = (event: KeyboardEvent): void => {
      const target = event.target as HTMLElement | null;
      const at = screenAt(book);
      if (!at || keypadFor.value !== "" || event.ctrlKey || event.altKey || event.metaKey) return;
      if (target?.closest("input, select, textarea, .scroll")) return;
      const to = event.key === "ArrowRight" ? onward(book, at) : event.key === "ArrowLeft" ? backward(book, at) : undefined;
      if (to) goTo(to);
    };
    addEventListener("keydown", onKey);
    return () => removeEventListener("keydown", onKey);
  });
}

function StepCount({ at }: { at: Screen }) {
  if (at.index === 0) return <>setting up, then {at.screens.steps.length} steps</>;
  if (at.index > at.screens.steps.length) return <>all {at.screens.steps.length} steps behind it</>;
  const done = isStepDone(at, at.screens.steps[at.index - 1]);
  return <>step {at.index} of {at.screens.steps.length}{done ? ", done" : ""}</>;
}

function PieceCount({ at }: { at: Screen }) {
  return at.setup.copies.length > 1 ? <>piece {at.copy + 1} of {at.setup.copies.length}, </> : null;
}

export function MachinePage({ book }: { book: Book }) {
  const at = screenAt(book);
  useKeys(book);
  // Before the screen is seen: a key that follows closely must not find its keypad shut again.
  useLayoutEffect(() => {
    keypadFor.value = "";
    scrollTo(0, 0);
  }, [at?.setup.number, at?.index, at?.copy]);
  if (!at) return <p>The plan has no setups.</p>;
  const step = at.screens.steps[at.index - 1];
  const where = placeOf(at, step);
  return (
    <article class="machine">
      <div class="top">
        <h1>{at.index > 0 ? <a href={screenAddress(at, 0)}>{at.screens.heading}</a> : at.screens.heading}</h1>
        <p class="count" aria-live="polite"><PieceCount at={at} /><StepCount at={at} /></p>
        <p class="unit-sign">{book.unit === "inch" ? "in" : "mm"}</p>
      </div>
      <div class="sheet">
        <Body book={book} at={at} />
        <div class="beside">
          <DrawingSheet key={at.setup.number} setup={at.setup} unit={book.unit} heading={at.screens.heading} />
          <Aside place={where} number={step?.number ?? ""} part={at.setup.copies[at.copy] ?? ""} />
        </div>
      </div>
      <Foot book={book} at={at} />
      {step?.step && where && keypadFor.value === where.step && (
        <Keypad
          step={step.step}
          place={where}
          number={step.number}
          heading={`${step.number}  ${headingOf(step)}`}
          unit={book.unit}
          close={() => { keypadFor.value = ""; }}
        />
      )}
    </article>
  );
}
