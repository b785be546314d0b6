// Will it fit: each thing asked for, weakest first, with what spoils it, and what if.
import { useState } from "preact/hooks";
import { standing } from "../../app/build.ts";
import { postSpread } from "../../core/client.ts";
import type { Book, Heading, Piece, Tally } from "../../core/wire.ts";
import { Distribution } from "../../drawing/distribution.tsx";
import { Pieces } from "../../drawing/pieces.tsx";
import { AsPlanned } from "../../drawing/as_planned.tsx";
import { TallyStrip } from "../../drawing/tally.tsx";
import { useAsked } from "../../drawing/asked.ts";
import { Knobs } from "./knobs.tsx";
import { askedKey, askedOf, byReadings, changes, saidOf } from "./what_if.ts";
import "./fit.css";

interface Asked { heading: Heading; pieces: Piece[] }

function listed(fit: Piece[]): { front: Piece[]; asked: Asked[] } {
  const front: Piece[] = [];
  const asked: Asked[] = [];
  for (const piece of fit) {
    if (piece.kind === "heading" && piece.level === 3) asked.push({ heading: piece, pieces: [] });
    else (asked[asked.length - 1]?.pieces ?? front).push(piece);
  }
  return { front, asked };
}

function Spread({ name, plan }: { name: string; plan: string }) {
  const { value: drawn } = useAsked(
    () => postSpread(name, changes.value, askedOf.value), [name, plan, askedKey.value, changes.value.join("\n")]);
  return drawn ? <Distribution drawn={drawn} before={byReadings.value > 0 ? "as it stands" : "as planned"} /> : null;
}

function One({ asked, book, first }: { asked: Asked; book: Book; first: boolean }) {
  const [open, setOpen] = useState(first);
  const tally = asked.pieces.find((piece): piece is Tally => piece.kind === "tally");
  const sentence = asked.pieces.find((piece) => piece.kind === "paragraph");
  const rest = asked.pieces.filter((piece) => piece !== tally && piece !== sentence);
  const name = book.spreads.find((s) => s.name.replaceAll("_", " ") === asked.heading.text)?.name;
  const moved = name === undefined ? undefined : saidOf(name);
  return (
    <details class="asked" open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>
        <h3>{asked.heading.text}</h3>
        <span class="chance">
          {moved ? <><s>{moved.before.text}</s> &#8594; {moved.after.text}</> : asked.heading.right}
        </span>
        <span class="sentence">{sentence?.kind === "paragraph" ? sentence.text : ""}</span>
        {tally && <TallyStrip met={moved?.after.met ?? tally.met} />}
      </summary>
      {open && (
        <div class="why">
          {name !== undefined && <Spread name={name} plan={book.plan} />}
          <Pieces pieces={rest} deeper={1} />
        </div>
      )}
    </details>
  );
}

const openAtFirst = 1;

export function FitPage({ book }: { book: Book }) {
  const { front, asked } = listed(book.fit);
  return (
    <article class="fit">
      <Pieces pieces={front.slice(0, 1)} deeper={-1} />
      <AsPlanned read={standing.value.readings.size} where="under What if, and on the Overview" />
      <Pieces pieces={front.slice(1)} deeper={-1} />
      <div class="fit-columns">
        <div class="asked-list">
          <h2>Thing by thing, the weakest first</h2>
          {asked.map((one, i) => <One key={one.heading.text} asked={one} book={book} first={i < openAtFirst} />)}
        </div>
        <Knobs />
      </div>
      <Pieces pieces={book.joints} />
    </article>
  );
}
