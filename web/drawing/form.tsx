// A form set out field by field: a label, what may be written, and what was wrong.
import { useState } from "preact/hooks";
import { missingIn, type Field, type Form, type Typed } from "../core/forms.ts";
import type { Fault } from "../core/wire.ts";
import { FaultList } from "./faults.tsx";

// A feature that may be named, and its kind.
export interface Named { value: string; kind: string }

function Choices({ field, value, id, set, named }: { field: Field; value: string; id: string; set: (text: string) => void; named: Named[] }) {
  const options = field.type === "feature"
    ? named.filter((one) => !field.kinds || field.kinds.includes(one.kind)).map((one) => ({ value: one.value, text: one.value.replaceAll("_", " ").replace(".", ": ") }))
    : field.options ?? [];
  return (
    <select id={id} value={value} onChange={(event) => set(event.currentTarget.value)}>
      <option value="">{options.length > 0 ? "choose" : "there is none yet"}</option>
      {options.map((option) => <option key={option.value} value={option.value}>{option.text}</option>)}
    </select>
  );
}

function FieldLine({ field, value, set, named, prefix }: { field: Field; value: string; set: (text: string) => void; named: Named[]; prefix: string }) {
  const id = `${prefix}-${field.key}`;
  const chosen = field.type === "side" || field.type === "choice" || field.type === "feature";
  const number = field.type === "count" || field.type === "minutes";
  return (
    <div class="field">
      <label for={id}>{field.label}{field.optional && <span class="unit"> if wanted</span>}</label>
      {chosen
        ? <Choices field={field} value={value} id={id} set={set} named={named} />
        : (
          <input
            id={id} type="text" inputMode={number ? "numeric" : undefined} autocomplete="off" spellcheck={false} maxLength={300}
            aria-describedby={field.hint ? `${id}-hint` : undefined} value={value} onInput={(event) => set(event.currentTarget.value)}
          />
        )}
      {field.hint && <p class="hint" id={`${id}-hint`}>{field.hint}</p>}
    </div>
  );
}

// keep: what came in its way; none when it is written.
export function SheetForm(props: {
  form: Form; prefix: string; button: string; named?: Named[]; first?: Typed; keep: (typed: Typed) => Promise<Fault[]>;
}) {
  const [typed, setTyped] = useState<Typed>(props.first ?? {});
  const [faults, setFaults] = useState<Fault[]>([]);
  const [missing, setMissing] = useState("");
  const [busy, setBusy] = useState(false);
  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    const want = missingIn(props.form, typed);
    setMissing(want ?? "");
    setFaults([]);
    if (want || busy) return;
    setBusy(true);
    const said = await props.keep(typed);
    setBusy(false);
    setFaults(said);
    if (said.length === 0) setTyped(props.first ?? {});
  };
  return (
    <form class="sheet-form" onSubmit={(event) => void keep(event)} noValidate>
      {props.form.fields.map((field) => (
        <FieldLine
          key={field.key} field={field} prefix={props.prefix} value={typed[field.key] ?? ""} named={props.named ?? []}
          set={(text) => setTyped((before) => ({ ...before, [field.key]: text }))}
        />
      ))}
      <p class="wanted" role="status">{missing && <><span class="mark look">Look here</span> {missing}.</>}</p>
      {faults.length > 0 && <div class="faults" role="alert"><p>Nothing was written.</p><FaultList faults={faults} /></div>}
      <button type="submit" class="do" disabled={busy}>{props.button}</button>
    </form>
  );
}
