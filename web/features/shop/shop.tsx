// Shop: machines, what the readings teach of them, tools, instruments, and every spread with where it comes from.
import { build, buildNumber, project, unit } from "../../app/state.ts";
import { askLearning, askShop } from "../../core/client.ts";
import type { Heading, Piece } from "../../core/wire.ts";
import { FaultList } from "../../drawing/faults.tsx";
import { Pieces } from "../../drawing/pieces.tsx";
import { useAsked } from "../../drawing/asked.ts";

// A list longer than this is folded.
const mostShown = 24;

interface Section { heading: Heading; pieces: Piece[] }
function sectionsOf(pieces: Piece[]): { front: Piece[]; sections: Section[] } {
  const front: Piece[] = [];
  const sections: Section[] = [];
  for (const piece of pieces) {
    if (piece.kind === "heading" && piece.level > 1) sections.push({ heading: piece, pieces: [] });
    else (sections[sections.length - 1]?.pieces ?? front).push(piece);
  }
  return { front, sections };
}

function isLong(section: Section): boolean {
  return section.pieces.some((piece) => piece.kind === "table" && piece.rows.length > mostShown);
}

function Folded({ section }: { section: Section }) {
  return (
    <details class="folded">
      <summary><h2>{section.heading.text}</h2> <span class="unit">{section.heading.right}</span></summary>
      <Pieces pieces={section.pieces} />
    </details>
  );
}

function Learning() {
  const readings = build.value?.readings.map((one) => one.id).join(" ");
  const { value: learning } = useAsked(() => askLearning(buildNumber.value, unit.value), [buildNumber.value, unit.value, readings]);
  if (!learning) return null;
  return (
    <section class="learning">
      <Pieces pieces={learning.pieces} />
      {learning.shop_lines !== "" && (
        <>
          <p>For shop.toml, where readings outweigh what was assumed:</p>
          <pre>{learning.shop_lines}</pre>
        </>
      )}
      <details class="folded">
        <summary><h2>Tests by which a shop finds its own figures</h2></summary>
        <Pieces pieces={learning.tests} />
      </details>
    </section>
  );
}

export function ShopPage() {
  const { value: shop, faults } = useAsked(() => askShop(unit.value), [unit.value, project.value?.sheets_hash]);
  const { front, sections } = sectionsOf(shop?.pieces ?? []);
  return (
    <article class="shop">
      {!shop && <h1>Shop</h1>}
      {faults.length > 0 && <div class="faults" role="alert"><FaultList faults={faults} /></div>}
      <Pieces pieces={front} />
      {shop && project.value?.plan !== "none" && <Learning />}
      {sections.map((section, i) => (isLong(section)
        ? <Folded key={i} section={section} />
        : <Pieces key={i} pieces={[section.heading, ...section.pieces]} />))}
    </article>
  );
}
