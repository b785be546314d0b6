// The long ruled page: setups in the order they are done, one margin line for each part.
import { signal } from "@preact/signals";
import { standing } from "../../app/build.ts";
import { addressOf } from "../../app/state.ts";
import { countDone, countSteps, nextOf } from "../../core/progress.ts";
import type { Book, Order, OrderRow, Setup } from "../../core/wire.ts";
import { LaneStrip, laneWidth } from "../../drawing/lanes.tsx";

const partShown = signal("");

function orderOf(book: Book): Order | undefined {
  return book.overview.find((piece): piece is Order => piece.kind === "order");
}

// Lanes of the parts that a row waits for: those worked in the awaited setups.
function awaitedLanes(order: Order, row: OrderRow, setup: Setup | undefined): number[] {
  const own = row.lanes.findIndex((lane) => lane === "worked");
  const lanes = (setup?.waits_for ?? []).map((number) => {
    const other = order.rows.find((r) => r.number === String(number));
    return other ? other.lanes.findIndex((lane) => lane === "worked") : -1;
  });
  return [...new Set(lanes)].filter((lane) => lane >= 0 && lane !== own);
}

function PartChoice({ parts }: { parts: string[] }) {
  return (
    <label class="part-choice">
      <span>Setups of</span>
      <select value={partShown.value} onChange={(event) => { partShown.value = event.currentTarget.value; }}>
        <option value="">all parts</option>
        {parts.map((part) => <option key={part} value={part}>{part}</option>)}
      </select>
    </label>
  );
}

function LaneHeads({ parts, shown }: { parts: string[]; shown: string }) {
  return (
    <div class="lane-heads" aria-hidden="true" style={{ width: `${parts.length * laneWidth}px` }}>
      {parts.map((part) => <span key={part} class={part === shown ? "shown" : ""}>{part}</span>)}
    </div>
  );
}

function stateWord(done: number, steps: number, isNext: boolean): string {
  if (steps > 0 && done === steps) return "done";
  if (done > 0) return `${done} of ${steps} done`;
  return isNext ? "next" : "";
}

function Row(props: { book: Book; order: Order; row: OrderRow; setup: Setup | undefined; next: boolean }) {
  const { order, row, setup } = props;
  const done = setup ? countDone(setup, standing.value.done) : 0;
  const word = stateWord(done, setup ? countSteps(setup) : 0, props.next);
  return (
    <li class={`row${word === "done" ? " done" : ""}${props.next ? " is-next" : ""}`}>
      <LaneStrip
        lanes={row.lanes}
        awaited={awaitedLanes(order, row, setup)}
        shown={order.parts.indexOf(partShown.value)}
      />
      <span class="number">{row.number}</span>
      <div class="text">
        <a href={addressOf("machine", Number(row.number), 0)}>{row.text}</a>
        {row.waits.map((wait, i) => <p key={i} class="waits"><span aria-hidden="true">&#8594; </span>{wait.replace(/^<- /, "")}</p>)}
        {row.pause && <p class="pause">{row.pause}</p>}
      </div>
      <span class="state">{word}</span>
      <span class="time">{row.right}</span>
    </li>
  );
}

export function OrderPage({ book }: { book: Book }) {
  const order = orderOf(book);
  if (!order) return <p>The plan has no setups.</p>;
  const next = nextOf(book, standing.value.done);
  const lane = order.parts.indexOf(partShown.value);
  const rows = order.rows.filter((row) => lane < 0 || row.lanes[lane] === "worked" || row.lanes[lane] === "joined");
  return (
    <article class="order">
      <div class="heading level-1">
        <h1>Order of work</h1>
        <span class="right">{rows.length === order.rows.length ? `${rows.length} setups` : `${rows.length} of ${order.rows.length} setups`}</span>
      </div>
      <PartChoice parts={order.parts} />
      <p class="note">
        A margin line for each part: a disc where it is worked, a ring where it is joined to another, an arrow where
        it waits for another.
      </p>
      <LaneHeads parts={order.parts} shown={partShown.value} />
      <ol class="rows">
        {rows.map((row) => {
          const setup = book.setups.find((s) => String(s.number) === row.number);
          return <Row key={row.number} book={book} order={order} row={row} setup={setup} next={next?.setup === setup} />;
        })}
      </ol>
    </article>
  );
}
