// What is still to be said of a part, or of how parts go together, kind by kind.
import { useState } from "preact/hooks";
import { load, project } from "../../app/state.ts";
import { postTables } from "../../core/client.ts";
import { featureForms, jointForms, requirementForms } from "../../core/feature_forms.ts";
import { tableOf, type Form } from "../../core/forms.ts";
import type { PartPage } from "../../core/wire.ts";
import { SheetForm, type Named } from "../../drawing/form.tsx";
import { PartByHand } from "../start/part_by_hand.tsx";

const blockFaces = ["top", "bottom", "front", "rear", "left", "right"];
const turnedFaces = ["low_end", "high_end"];

// Features that a joint or a requirement may name, a part's own faces among them.
export function namedIn(parts: PartPage[]): Named[] {
  return parts.flatMap((part) => {
    const value = (table: string, key: string): string => (part.lines.find((line) => line.table === table && line.key === key)?.value ?? "").replaceAll('"', "");
    const tables = [...new Set(part.lines.map((line) => line.table))].filter((table) => table.startsWith("feature "));
    const own = tables.map((table) => ({ name: value(table, "name"), kind: value(table, "kind") })).filter((one) => one.name !== "");
    const block = part.lines.some((line) => line.table === "envelope" && line.key === "block");
    const faces = (block ? blockFaces : turnedFaces).map((name) => ({ name, kind: "planar_face" }));
    return [...own, ...faces].map((one) => ({ value: `${part.name}.${one.name}`, kind: one.kind }));
  });
}

function Add(props: { title: string; file: string; table: string; forms: Form[]; named: Named[]; open: boolean }) {
  const [kind, setKind] = useState("");
  const [kept, setKept] = useState("");
  const form = props.forms.find((one) => one.kind === kind);
  const id = `add-${props.table}`;
  return (
    <details class="add" open={props.open}>
      <summary>{props.title}</summary>
      <div class="field">
        <label for={id}>Which kind</label>
        <select id={id} value={kind} onChange={(event) => { setKind(event.currentTarget.value); setKept(""); }}>
          <option value="">choose</option>
          {props.forms.map((one) => <option key={one.kind} value={one.kind}>{one.title}</option>)}
        </select>
        {form && <p class="hint">{form.say}</p>}
      </div>
      {form && (
        <SheetForm
          key={form.kind} prefix={`${id}-${form.kind.replace(" ", "-")}`} form={form} named={props.named} button="Write it into the sheet"
          keep={async (typed) => {
            const answer = await postTables([tableOf(props.file, props.table, form, typed)]);
            if (!answer.ok) return answer.faults;
            setKept(`${form.title} ${(typed["name"] ?? "").trim()} stands in ${props.file}.`);
            await load();
            return [];
          }}
        />
      )}
      <p role="status">{kept}</p>
    </details>
  );
}

export function AddToPart({ part }: { part: PartPage }) {
  return <Add title="Add a feature" file={part.file} table="feature" forms={featureForms} named={[]} open={false} />;
}

export function AddToMachine({ file, parts }: { file: string; parts: PartPage[] }) {
  const named = namedIn(parts);
  return (
    <>
      <Add title="Add a joint: how two parts go together" file={file} table="joint" forms={jointForms} named={named} open={false} />
      <Add title="Add what must be true" file={file} table="requirement" forms={requirementForms} named={named} open={false} />
      <details class="add">
        <summary>Add a part</summary>
        <PartByHand first={false} unit={project.value?.unit ?? "mm"} />
      </details>
    </>
  );
}
