// A sheet line by line: what was proposed stands or is changed, and any value is written anew in its place.
import { useState } from "preact/hooks";
import { load } from "../../app/state.ts";
import { postEdit } from "../../core/client.ts";
import type { Fault, SheetLine } from "../../core/wire.ts";
import { FaultList } from "../../drawing/faults.tsx";

interface Writing { line: SheetLine; value: string }

async function write(file: string, line: SheetLine, value: string, confirm: boolean, said: (faults: Fault[]) => void): Promise<boolean> {
  const answer = await postEdit(file, line, value, confirm);
  said(answer.ok ? [] : answer.faults);
  if (answer.ok) await load();
  return answer.ok;
}

function Editor(props: { file: string; writing: Writing; change: (writing: Writing | undefined) => void; said: (faults: Fault[]) => void }) {
  const { line, value } = props.writing;
  const keep = (event: Event): void => {
    event.preventDefault();
    void write(props.file, line, value, true, props.said).then((done) => { if (done) props.change(undefined); });
  };
  return (
    <form class="editor" onSubmit={keep}>
      <label>
        <span>{line.key} of {line.table || "the sheet"}</span>
        <input
          type="text"
          autocomplete="off"
          spellcheck={false}
          value={value}
          onInput={(event) => props.change({ line, value: event.currentTarget.value })}
        />
      </label>
      <p class="note">As it stands in the sheet, texts in quotation marks. The rest of the sheet stays as it is written.</p>
      <div class="choice">
        <button type="submit" disabled={value.trim() === ""}>Write it into the sheet</button>
        <button type="button" onClick={() => props.change(undefined)}>Leave it</button>
      </div>
    </form>
  );
}

function Row(props: { line: SheetLine; change: () => void; stands: (() => void) | undefined }) {
  const { line } = props;
  return (
    <tr>
      <th scope="row">{line.key}</th>
      <td><code>{line.value}</code></td>
      <td>{line.proposed && <span class="mark look">Proposed</span>} {line.remark}</td>
      <td class="acts">
        {props.stands && <button type="button" onClick={props.stands}>It stands</button>}
        <button type="button" onClick={props.change} aria-label={`Change ${line.key} of ${line.table || "the sheet"}`}>Change</button>
      </td>
    </tr>
  );
}

function Lines(props: { lines: SheetLine[]; label: string; writing: (line: SheetLine) => void; stands: (line: SheetLine) => void }) {
  const tables = [...new Set(props.lines.map((line) => line.table))];
  return (
    <div class="scroll" tabIndex={0} role="region" aria-label={props.label}>
      <table class="sheet-lines">
        <thead><tr><th scope="col">what</th><th scope="col">value</th><th scope="col">remark</th><th scope="col">do</th></tr></thead>
        {tables.map((table) => (
          <tbody key={table}>
            <tr class="of"><th colSpan={4} scope="rowgroup">{table.replaceAll("_", " ") || "the sheet"}</th></tr>
            {props.lines.filter((line) => line.table === table).map((line) => (
              <Row
                key={line.line}
                line={line}
                change={() => props.writing(line)}
                stands={line.proposed ? () => props.stands(line) : undefined}
              />
            ))}
          </tbody>
        ))}
      </table>
    </div>
  );
}

export function SheetOf({ file, lines, open }: { file: string; lines: SheetLine[]; open: boolean }) {
  const [writing, setWriting] = useState<Writing | undefined>(undefined);
  const [faults, setFaults] = useState<Fault[]>([]);
  const proposed = lines.filter((line) => line.proposed);
  const begin = (line: SheetLine): void => {
    setFaults([]);
    setWriting({ line, value: line.value });
  };
  const stands = (line: SheetLine): void => void write(file, line, "", true, setFaults);
  return (
    <section class="sheet-of">
      {proposed.length > 0 && (
        <>
          <h2><span class="mark look">Look here</span> To confirm: {proposed.length}</h2>
          <p class="note">Proposed when the file was read. What stands loses its mark in the sheet; what does not is changed.</p>
          <Lines lines={proposed} label="To confirm" writing={begin} stands={stands} />
        </>
      )}
      {writing && <Editor key={writing.line.line} file={file} writing={writing} change={setWriting} said={setFaults} />}
      {faults.length > 0 && (
        <div class="faults" role="alert">
          <p>Nothing was written.</p>
          <FaultList faults={faults} />
        </div>
      )}
      <details open={open}>
        <summary>The sheet, {file}</summary>
        <Lines lines={lines} label={`Lines of ${file}`} writing={begin} stands={stands} />
      </details>
    </section>
  );
}
