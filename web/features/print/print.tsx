// Print: choose the paper and what goes onto it; each setup on pages of its own.
import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { checked, project, unit } from "../../app/state.ts";
import { askDrawings, askShop, drawingAddress } from "../../core/client.ts";
import type { Book, DrawingName, Piece, Setup, Unit } from "../../core/wire.ts";
import { useAsked } from "../../drawing/asked.ts";
import { Pieces } from "../../drawing/pieces.tsx";

type Paper = "a4" | "letter";
type What = "overview" | "drawings" | "sheets" | "fit" | "shop";
const paper = signal<Paper>(/^en-(US|CA)/.test(navigator.language) ? "letter" : "a4");
const what = signal<Record<What, boolean>>({ overview: true, drawings: true, sheets: false, fit: false, shop: false });
const from = signal("");
const to = signal("");
const drawn = signal<Record<string, DrawingName[] | "none">>({});

const names: Record<What, string> = {
  overview: "overview and order of work",
  drawings: "setups as drawings, with holes and cuts to tick off",
  sheets: "setups in words",
  fit: "will it fit",
  shop: "the shop",
};

function chosenSetups(book: Book): Setup[] {
  const low = Number(from.value) || 1;
  const high = Number(to.value) || Infinity;
  return book.setups.filter((setup) => setup.number >= low && setup.number <= high);
}

const keyOf = (setup: number, shown: Unit): string => `${setup} ${shown}`;

// One setup after the other, so that the machine that draws is not asked for all at once.
async function drawAll(setups: Setup[], shown: Unit, wanted: () => boolean): Promise<void> {
  for (const setup of setups) {
    const key = keyOf(setup.number, shown);
    if (!wanted()) return;
    if (setup.parts.length === 0 || drawn.value[key]) continue;
    const answer = await askDrawings(setup.number, shown);
    drawn.value = { ...drawn.value, [key]: answer.ok ? answer.value.drawings : "none" };
  }
}

function Choices({ book }: { book: Book }) {
  const many = book.setups.length;
  return (
    <form class="print-choices" onSubmit={(event) => event.preventDefault()}>
      <fieldset class="choice">
        <legend>Paper</legend>
        {(["a4", "letter"] as Paper[]).map((one) => (
          <label key={one}>
            <input type="radio" name="paper" checked={paper.value === one} onChange={() => { paper.value = one; }} />
            <span>{one === "a4" ? "A4" : "Letter"}</span>
          </label>
        ))}
      </fieldset>
      <fieldset class="what-choices">
        <legend>What</legend>
        {(Object.keys(names) as What[]).map((one) => (
          <label key={one}>
            <input
              type="checkbox"
              checked={what.value[one]}
              onChange={() => { what.value = { ...what.value, [one]: !what.value[one] }; }}
            />
            <span>{names[one]}</span>
          </label>
        ))}
      </fieldset>
      <fieldset class="from-to">
        <legend>Setups</legend>
        <label>from <input type="number" min="1" max={many} value={from.value} placeholder="1" onInput={(event) => { from.value = event.currentTarget.value; }} /></label>
        <label>to <input type="number" min="1" max={many} value={to.value} placeholder={String(many)} onInput={(event) => { to.value = event.currentTarget.value; }} /></label>
      </fieldset>
    </form>
  );
}

function TextPages({ pieces, label }: { pieces: Piece[]; label: string }) {
  // Below the page's own heading.
  const below = pieces.map((piece) => (piece.kind === "heading" && piece.level < 2 ? { ...piece, level: 2 } : piece));
  return <section class={`paper text ${paper.value}`} aria-label={label}><Pieces pieces={below} /></section>;
}

function DrawingPages({ setup, shown }: { setup: Setup; shown: Unit }) {
  const sheets = drawn.value[keyOf(setup.number, shown)];
  if (setup.parts.length === 0 || sheets === "none") return <TextPages pieces={setup.pieces} label={`Setup ${setup.number}`} />;
  if (!sheets) return <section class={`paper coming ${paper.value}`}><p>Setup {setup.number} is being drawn.</p></section>;
  return (
    <>
      {sheets.map((sheet) => (
        <section key={`${sheet.kind}${sheet.sheet}`} class={`paper drawing-page ${paper.value}`}>
          <img src={drawingAddress(setup.number, sheet, shown)} alt={`Setup ${setup.number}, ${sheet.kind} ${sheet.sheet}`} />
        </section>
      ))}
    </>
  );
}

function Shop() {
  const { value } = useAsked(() => askShop(unit.value), [unit.value, project.value?.sheets_hash]);
  return value ? <TextPages pieces={value.pieces} label="Shop" /> : null;
}

export function PrintPage({ book }: { book: Book }) {
  const setups = chosenSetups(book);
  const chosen = what.value;
  const numbers = setups.map((setup) => setup.number).join(" ");
  useEffect(() => {
    let wanted = true;
    if (chosen.drawings) void drawAll(setups, book.unit, () => wanted);
    return () => { wanted = false; };
  }, [numbers, book.unit, book.plan, chosen.drawings]);
  const coming = chosen.drawings
    ? setups.filter((setup) => setup.parts.length > 0 && !drawn.value[keyOf(setup.number, book.unit)]).length : 0;
  return (
    <article class="print">
      <div class="heading level-1 screen-only"><h1>Print</h1><span class="right">lengths in {book.unit}</span></div>
      <div class="screen-only">
        <Choices book={book} />
        <p aria-live="polite" class="note">
          {coming > 0 ? `${coming} of ${setups.length} setups are still to be drawn.` : "All is there."}
        </p>
        <button type="button" class="print-now" disabled={coming > 0} onClick={() => print()}>Print</button>
      </div>
      <div class="papers">
        {chosen.overview && <TextPages pieces={book.overview} label="Overview" />}
        {chosen.overview && checked.value && !checked.value.ok && (
          <section class={`paper text ${paper.value}`} aria-label="The sheets">
            <h2>The sheets</h2>
            <ul class="items">{checked.value.findings.map((finding, i) => <li key={i}>{finding.where}: {finding.say}</li>)}</ul>
          </section>
        )}
        {setups.map((setup) => (
          <div key={setup.number}>
            {chosen.drawings && <DrawingPages setup={setup} shown={book.unit} />}
            {chosen.sheets && <TextPages pieces={setup.pieces} label={`Setup ${setup.number}`} />}
          </div>
        ))}
        {chosen.fit && <TextPages pieces={book.fit} label="Will it fit" />}
        {chosen.shop && <Shop />}
      </div>
    </article>
  );
}
