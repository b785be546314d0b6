// The book around its pages: title, the pages by name, unit and ground.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { FitPage } from "../features/fit/fit.tsx";
import { MachinePage } from "../features/machine/machine.tsx";
import { OrderPage } from "../features/order/order.tsx";
import { OverviewPage } from "../features/overview/overview.tsx";
import { PartsPage } from "../features/parts/parts.tsx";
import { PrintPage } from "../features/print/print.tsx";
import { NoPlanPage } from "../features/start/no_plan.tsx";
import { StartPage } from "../features/start/start.tsx";
import { PairPage } from "../features/start/pair.tsx";
import { ShopPage } from "../features/shop/shop.tsx";
import { FaultList } from "../drawing/faults.tsx";
import type { Fault } from "../core/wire.ts";
import {
  addressOf, book, chooseGround, chooseUnit, faults, ground, load, loading, offline, place, project, unit, unpaired,
  type PageName,
} from "./state.ts";
import { notKept, refused, waiting } from "./build.ts";

const pages: { name: PageName; title: string }[] = [
  { name: "overview", title: "Overview" },
  { name: "parts", title: "Parts" },
  { name: "order", title: "Order of work" },
  { name: "machine", title: "At the machine" },
  { name: "fit", title: "Will it fit" },
  { name: "shop", title: "Shop" },
  { name: "print", title: "Print" },
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

function Faults({ list, alone }: { list: Fault[]; alone: boolean }) {
  const Heading = alone ? "h1" : "h2";
  return (
    <section class="faults" role="alert">
      <Heading><span class="mark look">Look here</span> The project cannot be read as it stands</Heading>
      <FaultList faults={list} />
      <button type="button" onClick={() => void load()}>Read it again</button>
    </section>
  );
}

function Page(): ComponentChildren {
  const page = place.value.page;
  if (unpaired.value) return <PairPage />;
  if (faults.value.some((fault) => fault.code === "file_missing" && fault.file === "machine.toml")) return <StartPage />;
  if (faults.value.length > 0 && !book.value) return <Faults list={faults.value} alone />;
  if (project.value && page === "parts") return <PartsPage />;
  if (project.value && page === "shop") return <ShopPage />;
  if (project.value?.plan === "none") return <NoPlanPage />;
  if (!book.value) return <p class="opening" aria-live="polite">{loading.value ? "Opening the build book." : ""}</p>;
  switch (page) {
    case "order": return <OrderPage book={book.value} />;
    case "machine": return <MachinePage book={book.value} />;
    case "fit": return <FitPage book={book.value} />;
    case "print": return <PrintPage book={book.value} />;
    default: return <OverviewPage book={book.value} />;
  }
}

function NotTaken() {
  return (
    <section class="faults">
      <h2><span class="mark stop">Stop</span> Not taken into the build log</h2>
      <ul>
        {refused.value.map(({ event, say }) => (
          <li key={event.id}>{event.kind.replaceAll("_", " ")} {event.step} {event.part} {event.typed ?? event.text}: {say}</li>
        ))}
      </ul>
      <p>They stay on this device; write them down on paper.</p>
    </section>
  );
}

function Notices() {
  return (
    <div class="notices" aria-live="polite">
      {offline.value && (
        <p>
          <span class="mark look">Look here</span> The program does not answer. What is shown stays; ticks and sizes are
          kept on this device and sent when it answers again{waiting.value.length > 0 && <>: {waiting.value.length} waiting</>}.
          {!isSecureContext && <> Do not load this page again until then.</>}
        </p>
      )}
      {refused.value.length > 0 && <NotTaken />}
      {notKept.value && (
        <p><span class="mark stop">Stop</span> This browser keeps nothing once the page is closed: leave it open until all is sent, or write sizes down on paper.</p>
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
    if (shown.current !== here) {
      main.current?.focus({ preventScroll: true });
      scrollTo(0, 0);
    }
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

