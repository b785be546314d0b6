// The sheet model set in type: every kind of piece once, so that all pages read alike.
import type { ComponentChildren } from "preact";
import type { Bars, Entry, Heading, Order, Piece, Table, Tick, Tone } from "../core/wire.ts";
import { TallyStrip } from "./tally.tsx";

export function Mark({ tone }: { tone: Tone }) {
  if (tone === "look") return <span class="mark look">Look here</span>;
  if (tone === "stop") return <span class="mark stop">Stop</span>;
  return null;
}

export function HeadingLine({ piece, level }: { piece: Heading; level: number }) {
  const Tag = `h${Math.min(level, 4)}` as "h1" | "h2" | "h3" | "h4";
  return (
    <div class={`heading level-${piece.level}`}>
      <Tag>{piece.text}</Tag>
      {piece.right && <span class="right">{piece.right}</span>}
    </div>
  );
}

// A row for each; one without a label goes on with the one above.
export function Entries({ entries }: { entries: Entry[] }) {
  const groups: { label: string; lines: Entry[] }[] = [];
  for (const entry of entries) {
    const last = groups[groups.length - 1];
    if (last && (entry.label === "" || entry.label === last.label)) last.lines.push(entry);
    else groups.push({ label: entry.label, lines: [entry] });
  }
  return (
    <dl class="entries">
      {groups.map((group, i) => (
        <div key={i} class={group.lines[0]?.tone ?? "plain"}>
          <dt>{group.label}</dt>
          {group.lines.map((line, k) => <dd key={k}>{line.text}</dd>)}
        </div>
      ))}
    </dl>
  );
}

export function TableOf({ table, caption }: { table: Table; caption?: string }) {
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={caption ?? table.columns.map((c) => c.head).join(", ")}>
      <table>
        <thead>
          <tr>
            {table.columns.map((column, i) => (
              <th key={i} scope="col" class={column.align}>
                {column.head}
                {column.unit && <span class="unit"> {column.unit}</span>}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {table.rows.map((row, r) => (
            <tr key={r}>
              {row.map((cell, i) => <td key={i} class={table.columns[i]?.align ?? "left"}>{cell}</td>)}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

export function BarList({ bars }: { bars: Bars["bars"] }) {
  return (
    <ol class="causes">
      {bars.map((bar, i) => (
        <li key={i}>
          <span class="share">{Math.round(100 * bar.share)} %</span>
          <span class="cause">{bar.text}</span>
          <svg class="length" viewBox="0 0 100 2" preserveAspectRatio="none" aria-hidden="true">
            <rect width={100 * bar.share} height="2" />
          </svg>
        </li>
      ))}
    </ol>
  );
}

export function TickLine({ tick }: { tick: Tick }) {
  return (
    <div class="tick">
      <span class="number">{tick.number}</span>
      <p>{tick.text}</p>
      {tick.details.map((detail, i) => <p key={i} class="detail">{detail}</p>)}
    </div>
  );
}

// The order of work without its margin lines.
function OrderList({ order }: { order: Order }) {
  return (
    <ol class="rows plain">
      {order.rows.map((row) => (
        <li key={row.number} class="row">
          <span class="box" aria-hidden="true" />
          <span class="number">{row.number}</span>
          <div class="text">
            {row.text}
            {row.waits.map((wait, i) => <p key={i} class="waits">{wait.replace(/^<- /, "")}</p>)}
          </div>
          <span class="time">{row.right}</span>
        </li>
      ))}
    </ol>
  );
}

function one(piece: Piece, key: number, deeper: number): ComponentChildren {
  switch (piece.kind) {
    case "heading": return <HeadingLine key={key} piece={piece} level={piece.level + deeper} />;
    case "paragraph": return <p key={key} class={piece.tone}><Mark tone={piece.tone} /> {piece.text}</p>;
    case "table": return <TableOf key={key} table={piece} />;
    case "tally": return <TallyStrip key={key} met={piece.met} />;
    case "bars": return <BarList key={key} bars={piece.bars} />;
    case "order": return <OrderList key={key} order={piece} />;
    case "tick": return <TickLine key={key} tick={piece} />;
    default: return null;
  }
}

// `deeper`: by how much the headings stand below their own level.
export function Pieces({ pieces, deeper = 0 }: { pieces: Piece[]; deeper?: number }) {
  const out: ComponentChildren[] = [];
  for (let i = 0; i < pieces.length; ++i) {
    const piece = pieces[i];
    if (!piece) continue;
    if (piece.kind === "entry" || piece.kind === "item") {
      const first = i;
      while (pieces[i + 1]?.kind === piece.kind) ++i;
      const run = pieces.slice(first, i + 1);
      out.push(
        piece.kind === "entry" ? (
          <Entries key={first} entries={run.filter((p): p is Entry => p.kind === "entry")} />
        ) : (
          <ul key={first} class="items">{run.map((p, k) => <li key={k}>{p.kind === "item" ? p.text : ""}</li>)}</ul>
        ),
      );
    } else {
      out.push(one(piece, i, deeper));
    }
  }
  return <>{out}</>;
}
