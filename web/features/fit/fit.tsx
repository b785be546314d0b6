// Will it fit: each thing asked for, weakest first, with what spoils it.
import type { Book, Heading, Piece, Tally } from "../../core/wire.ts";
import { Pieces } from "../../drawing/pieces.tsx";
import { TallyStrip } from "../../drawing/tally.tsx";
import { SpreadScale } from "../../drawing/spread.tsx";

interface Asked { heading: Heading; pieces: Piece[] }

function askedOf(fit: Piece[]): { front: Piece[]; asked: Asked[] } {
  const front: Piece[] = [];
  const asked: Asked[] = [];
  for (const piece of fit) {
    if (piece.kind === "heading" && piece.level === 3) asked.push({ heading: piece, pieces: [] });
    else (asked[asked.length - 1]?.pieces ?? front).push(piece);
  }
  return { front, asked };
}

function One({ asked, book, open }: { asked: Asked; book: Book; open: boolean }) {
  const tally = asked.pieces.find((piece): piece is Tally => piece.kind === "tally");
  const sentence = asked.pieces.find((piece) => piece.kind === "paragraph");
  const rest = asked.pieces.filter((piece) => piece !== tally && piece !== sentence);
  const spread = book.spreads.find((s) => s.name.replaceAll("_", " ") === asked.heading.text);
  return (
    <details class="asked" open={open}>
      <summary>
        <h3>{asked.heading.text}</h3>
        <span class="chance">{asked.heading.right}</span>
        <span class="sentence">{sentence?.kind === "paragraph" ? sentence.text : ""}</span>
        {tally && <TallyStrip met={tally.met} />}
      </summary>
      <div class="why">
        {spread && <SpreadScale spread={spread} />}
        <Pieces pieces={rest} deeper={1} />
      </div>
    </details>
  );
}

const openAtFirst = 2;

export function FitPage({ book }: { book: Book }) {
  const { front, asked } = askedOf(book.fit);
  return (
    <article class="fit">
      <Pieces pieces={front} deeper={-1} />
      <h2>Thing by thing, the weakest first</h2>
      <p class="note">
        In each scale: the tall marks are the limits and the broad line below is what they allow; the short mark is
        the size to be expected, the heavy bar holds two builds in three, the thin line nineteen in twenty.
      </p>
      {asked.map((one, i) => <One key={one.heading.text} asked={one} book={book} open={i < openAtFirst} />)}
      <Pieces pieces={book.joints} />
    </article>
  );
}
