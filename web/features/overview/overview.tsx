// Where the whole thing stands: odds, time, what to do next, what to look at, what to buy.
import { standing } from "../../app/build.ts";
import { addressOf, build, checked } from "../../app/state.ts";
import { screensOf } from "../../core/sheet.ts";
import { nextOf } from "../../core/progress.ts";
import type { Book, Piece } from "../../core/wire.ts";
import { PlanAgain } from "../start/plan_again.tsx";
import { AsPlanned } from "../../drawing/as_planned.tsx";
import { Pieces } from "../../drawing/pieces.tsx";

// The order of work has a page of its own.
function withoutOrder(pieces: Piece[]): Piece[] {
  const at = pieces.findIndex((piece, i) => piece.kind === "heading" && pieces[i + 1]?.kind === "order");
  return at < 0 ? pieces : [...pieces.slice(0, at), ...pieces.slice(at + 2)];
}

const anewTitle = "What is left, planned anew";
// Stands at the end of the book, and first where somebody asks what changed.
function anewOf(pieces: Piece[]): { anew: Piece[]; rest: Piece[] } {
  const at = pieces.findIndex((piece) => piece.kind === "heading" && piece.text === anewTitle);
  if (at < 0) return { anew: [], rest: pieces };
  const after = pieces.findIndex((piece, i) => i > at && piece.kind === "heading");
  const end = after < 0 ? pieces.length : after;
  return { anew: pieces.slice(at, end), rest: [...pieces.slice(0, at), ...pieces.slice(end)] };
}

function split(pieces: Piece[]): { front: Piece[]; rest: Piece[] } {
  const at = pieces.findIndex((piece) => piece.kind === "heading" && piece.level === 3);
  return at < 0 ? { front: pieces, rest: [] } : { front: pieces.slice(0, at), rest: pieces.slice(at) };
}

// The server says of the last reading alone what it changes: one sentence is of its own limits.
function LastChange() {
  const last = build.value?.readings.find((reading) => reading.say.length > 1 || reading.ways.length > 0);
  if (!last) return null;
  const event = build.value?.lately.find((one) => one.time_ms === last.time_ms);
  return (
    <section class="last-change">
      <h2>What the last reading changes</h2>
      {event && <p class="unit">Step {event.step}: {event.what}</p>}
      <ul class="items">{[...last.say, ...last.ways.map((way) => way.say)].map((sentence, i) => <li key={i}>{sentence}</li>)}</ul>
    </section>
  );
}

function Lately() {
  const stands = build.value;
  if (!stands || (stands.lately.length === 0 && stands.elsewhere.length === 0)) return null;
  return (
    <section class="lately">
      <h2>Last recorded</h2>
      {stands.elsewhere.length > 0 && (
        <p class="look"><span class="mark look">Look here</span> Done to an earlier plan, and no step of this one: {stands.elsewhere.join("; ")}.</p>
      )}
      <ol class="items">
        {stands.lately.map((event) => (
          <li key={event.number}>
            <time dateTime={new Date(event.time_ms).toISOString()}>{new Date(event.time_ms).toLocaleString([], { dateStyle: "short", timeStyle: "short" })}</time>
            {event.step && <strong> {event.step}</strong>} {event.part && <>{event.part}: </>}{event.what}
          </li>
        ))}
      </ol>
    </section>
  );
}

function Next({ book }: { book: Book }) {
  const next = nextOf(book, standing.value.done);
  if (!next) return <p class="next"><span class="label">Next</span> Every step is ticked off.</p>;
  const screens = screensOf(next.setup);
  const step = screens.steps[next.index];
  const begun = next.index > 0;
  return (
    <section class="next" aria-label="What to do next">
      <p class="label">{standing.value.done.size === 0 ? "Begin with" : "Next"}</p>
      <p class="what">
        <a href={addressOf("machine", next.setup.number, begun ? next.index + 1 : 0, next.copy + 1)}>{screens.heading}</a>
      </p>
      <p>{begun ? `${step?.number ?? ""}  ${step?.text ?? ""}` : "First set it up, then step by step."}</p>
    </section>
  );
}

function Checked() {
  const check = checked.value;
  if (!check) return null;
  if (check.ok) return <p class="sheets">The sheets: nothing found against them.</p>;
  return (
    <section>
      <h2><span class="mark look">Look here</span> The sheets</h2>
      <ul class="items">
        {check.findings.map((finding, i) => (
          <li key={i}>
            <strong>{finding.where}</strong>: {finding.say}
            {finding.remedy && <> What would do: {finding.remedy}</>}
            {finding.line > 0 && <span class="unit"> {finding.file}, line {finding.line}</span>}
          </li>
        ))}
      </ul>
    </section>
  );
}

export function OverviewPage({ book }: { book: Book }) {
  const { anew, rest: others } = anewOf(withoutOrder(book.overview));
  const { front, rest } = split(others);
  const [head, ...entries] = front;
  const begun = standing.value.done.size > 0 || standing.value.readings.size > 0;
  return (
    <article class="overview">
      {head && <Pieces pieces={[head]} />}
      <Next book={book} />
      <LastChange />
      <Pieces pieces={anew} deeper={-1} />
      {(book.older_than_sheets || begun) && (
        <div class="sheets"><PlanAgain words={book.older_than_sheets ? "Plan again by the sheets" : "Plan what is left anew"} /></div>
      )}
      <AsPlanned read={standing.value.readings.size} where="above" />
      <Pieces pieces={entries} />
      <Lately />
      <Checked />
      <Pieces pieces={rest} deeper={-1} />
      <Pieces pieces={book.cautions} />
      <details>
        <summary>What was assumed, and what the odds leave out</summary>
        <Pieces pieces={book.assumed} />
      </details>
    </article>
  );
}
