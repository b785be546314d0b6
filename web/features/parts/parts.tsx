// Parts: each with its drawing, its features and limits, what is to be confirmed, and its sheet to be changed.
import { addressOf, book, place, project, unit } from "../../app/state.ts";
import { askParts, drawingAddress } from "../../core/client.ts";
import type { Book, PartPage, Setup } from "../../core/wire.ts";
import { FaultList } from "../../drawing/faults.tsx";
import { Pieces } from "../../drawing/pieces.tsx";
import { useAsked } from "../../drawing/asked.ts";
import { AddToMachine, AddToPart } from "./add.tsx";
import { SheetOf } from "./sheet.tsx";

const nameText = (name: string): string => name.replaceAll("_", " ");

function setupsOf(shown: Book | undefined, part: string): Setup[] {
  return shown?.setups.filter((setup) => setup.parts.some((name) => name.split("#")[0] === part)) ?? [];
}

// The part as it sits in the last of its setups, and the way to the others.
function Drawn({ shown, part }: { shown: Book | undefined; part: string }) {
  const setups = setupsOf(shown, part);
  const last = [...setups].reverse().find((setup) => setup.copies[0] === part) ?? setups[setups.length - 1];
  if (!last) return <p class="note">It is drawn once there is a plan.</p>;
  return (
    <section class="drawn">
      <a href={addressOf("machine", last.number, 0)}>
        <img
          class="sheet-picture"
          loading="lazy"
          src={drawingAddress(last.number, { kind: "setup", sheet: 1 }, unit.value)}
          alt={`${nameText(part)} as it sits in setup ${last.number}`}
        />
      </a>
      <p class="setups">
        Made in setup{" "}
        {setups.map((setup, i) => (
          <span key={setup.number}>{i > 0 && ", "}<a href={addressOf("machine", setup.number, 0)}>{setup.number}</a></span>
        ))}
      </p>
    </section>
  );
}

function PartLinks({ parts, chosen }: { parts: PartPage[]; chosen: string }) {
  return (
    <nav class="part-links" aria-label="Parts">
      <ul>
        {parts.map((part) => (
          <li key={part.name}>
            <a href={addressOf("parts", part.name)} aria-current={part.name === chosen ? "true" : undefined}>
              {nameText(part.name)}{part.quantity > 1 && <> &#215; {part.quantity}</>}
              {part.lines.some((line) => line.proposed) && <span class="mark look"> to confirm</span>}
            </a>
          </li>
        ))}
        <li>
          <a href={addressOf("parts", "machine.toml")} aria-current={chosen === "machine.toml" ? "true" : undefined}>
            how they go together
          </a>
        </li>
      </ul>
    </nav>
  );
}

export function PartsPage() {
  const { value: pages, faults } = useAsked(
    () => askParts(unit.value), [unit.value, project.value?.sheets_hash, project.value]);
  const part = pages?.parts.find((one) => one.name === place.value.rest[0]) ?? pages?.parts[0];
  const together = place.value.rest[0] === "machine.toml";
  return (
    <article class="parts">
      {!pages && <h1>Parts</h1>}
      {faults.length > 0 && <div class="faults" role="alert"><FaultList faults={faults} /></div>}
      {pages && <PartLinks parts={pages.parts} chosen={together ? "machine.toml" : part?.name ?? ""} />}
      {pages && together && (
        <>
          <div class="heading level-1"><h1>How they go together</h1><span class="right">{pages.machine.file}</span></div>
          <AddToMachine file={pages.machine.file} parts={pages.parts} />
          <SheetOf key="machine.toml" file={pages.machine.file} lines={pages.machine.lines} open />
        </>
      )}
      {pages && !together && part && (
        <>
          <Pieces pieces={part.pieces} />
          <Drawn key={part.name} shown={book.value} part={part.name} />
          <AddToPart key={`add-${part.name}`} part={part} />
          <SheetOf key={part.file} file={part.file} lines={part.lines} open={false} />
        </>
      )}
    </article>
  );
}
