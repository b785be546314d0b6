// The book around its pages: title, the pages by name, unit and ground.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { FitPage } from "../features/fit/fit.tsx";
import { MachinePage } from "../features/machine/machine.tsx";
import { OrderPage } from "../features/order/order.tsx";
import { OverviewPage } from "../features/overview/overview.tsx";
import type { Fault } from "../core/wire.ts";
import {
  addressOf, book, chooseGround, chooseUnit, faults, ground, load, loading, notKept, offline, place, project, unit,
  type PageName,
} from "./state.ts";

const pages: { name: PageName; title: string }[] = [
  { name: "overview", title: "Overview" },
  { name: "order", title: "Order of work" },
  { name: "machine", title: "At the machine" },
  { name: "fit", title: "Will it fit" },
];

function Choice<T extends string>(props: {
  legend: string;
  name: string;
  value: T;
  options: { value: T; text: string }[];
  choose: (value: T) => void;
}) {
  return (
    <fieldset class="choice">
      <legend>{props.legend}</legend>
      {props.options.map((option) => (
        <label key={option.value}>
          <input
            type="radio"
            name={props.name}
            value={option.value}
            checked={props.value === option.value}
            onChange={() => props.choose(option.value)}
          />
          <span>{option.text}</span>
        </label>
      ))}
    </fieldset>
  );
}

function Settings() {
  return (
    <div class="settings">
      <Choice
        legend="Lengths in"
        name="unit"
        value={unit.value}
        options={[{ value: "mm", text: "mm" }, { value: "inch", text: "inch" }]}
        choose={chooseUnit}
      />
      <Choice
        legend="Ground"
        name="ground"
        value={ground.value}
        options={[{ value: "paper", text: "paper" }, { value: "night", text: "night" }]}
        choose={chooseGround}
      />
    </div>
  );
}

function Contents() {
  const here = place.value.page;
  return (
    <nav class="contents" aria-label="Pages of the book">
      <ul>
        {pages.map((page) => (
          <li key={page.name}>
            <a href={addressOf(page.name)} aria-current={here === page.name ? "page" : undefined}>{page.title}</a>
          </li>
        ))}
      </ul>
    </nav>
  );
}

function FaultLine({ fault }: { fault: Fault }) {
  const where = fault.file ? `${fault.file}${fault.line > 0 ? `, line ${fault.line}` : ""}` : "";
  return (
    <li>
      <p>
        {where && <strong>{where}: </strong>}
        {fault.key && <code>{fault.key}{fault.value ? ` = ${fault.value}` : ""}</code>} {fault.message}.
      </p>
      {fault.remedy && <p class="remedy">What would do: {fault.remedy}.</p>}
    </li>
  );
}

function Faults({ list, alone }: { list: Fault[]; alone: boolean }) {
  const Heading = alone ? "h1" : "h2";
  return (
    <section class="faults" role="alert">
      <Heading><span class="mark look">Look here</span> The project cannot be read as it stands</Heading>
      <ul>{list.map((fault, i) => <FaultLine key={i} fault={fault} />)}</ul>
      <button type="button" onClick={() => void load()}>Read it again</button>
    </section>
  );
}

function NoPlan() {
  return (
    <section>
      <h1>No plan yet</h1>
      <p>The sheets are read, and nothing has been planned. At the terminal:</p>
      <pre><code>fitwright plan FOLDER</code></pre>
      <button type="button" onClick={() => void load()}>Look again</button>
    </section>
  );
}

function Page(): ComponentChildren {
  if (faults.value.length > 0 && !book.value) return <Faults list={faults.value} alone />;
  if (project.value?.plan === "none") return <NoPlan />;
  if (!book.value) return <p class="opening" aria-live="polite">{loading.value ? "Opening the build book." : ""}</p>;
  switch (place.value.page) {
    case "order": return <OrderPage book={book.value} />;
    case "machine": return <MachinePage book={book.value} />;
    case "fit": return <FitPage book={book.value} />;
    case "overview": return <OverviewPage book={book.value} />;
  }
}

function Notices() {
  return (
    <div class="notices" aria-live="polite">
      {offline.value && (
        <p><span class="mark look">Look here</span> The program does not answer. What is shown stays; ticks and sizes are kept on this device.</p>
      )}
      {notKept.value && (
        <p><span class="mark stop">Stop</span> This browser keeps nothing: write sizes down on paper.</p>
      )}
      {book.value && faults.value.length > 0 && <Faults list={faults.value} alone={false} />}
    </div>
  );
}

export function Shell() {
  const main = useRef<HTMLElement>(null);
  const here = place.value.page;
  const title = pages.find((page) => page.name === here)?.title ?? "";
  const name = project.value?.name ?? "";
  const shown = useRef(here);
  useEffect(() => {
    document.title = name ? `${title} - ${name}` : "Build book";
    if (shown.current !== here) main.current?.focus();
    shown.current = here;
  }, [here, name]);
  return (
    <div class={`book page-${here}`}>
      <a class="skip" href="#main" onClick={(event) => { event.preventDefault(); main.current?.focus(); }}>
        To the page itself
      </a>
      <header class="head">
        <p class="title">{name || "Build book"}</p>
        <Contents />
        <Settings />
      </header>
      <main id="main" ref={main} tabIndex={-1} aria-label={title}>
        <Notices />
        <Page />
      </main>
    </div>
  );
}

