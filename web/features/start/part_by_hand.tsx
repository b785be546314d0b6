// A part begun by hand: block or turned work, what it is made of, how large.
import { useState } from "preact/hooks";
import { load } from "../../app/state.ts";
import { postTables } from "../../core/client.ts";
import { nameOf } from "../../core/forms.ts";
import { partForm, partTables, type Shape } from "../../core/part_forms.ts";
import type { Unit } from "../../core/wire.ts";
import { SheetForm } from "../../drawing/form.tsx";

export function Pick<T extends string>(props: { legend: string; name: string; value: T; options: { value: T; text: string }[]; choose: (value: T) => void }) {
  return (
    <fieldset class="choice pick">
      <legend>{props.legend}</legend>
      {props.options.map((option) => (
        <label key={option.value}>
          <input type="radio" name={props.name} checked={props.value === option.value} onChange={() => props.choose(option.value)} />
          <span>{option.text}</span>
        </label>
      ))}
    </fieldset>
  );
}

export function PartByHand({ first, unit }: { first: boolean; unit: Unit }) {
  const [shape, setShape] = useState<Shape>("block");
  const [lengths, setLengths] = useState<Unit>(unit);
  return (
    <div class="by-hand">
      <Pick
        legend="Made from" name="shape" value={shape} choose={setShape}
        options={[{ value: "block", text: "a block" }, { value: "turned", text: "round bar, turned" }]}
      />
      <Pick
        legend="Numbers in" name="sheet-unit" value={lengths} choose={setLengths}
        options={[{ value: "mm", text: "mm" }, { value: "inch", text: "inch" }]}
      />
      <SheetForm
        key={shape} prefix={`part-${shape}`} form={partForm(shape, first)} button={first ? "Begin the book" : "Add the part"}
        keep={async (typed) => {
          const answer = await postTables(partTables(shape, typed, lengths, first));
          if (!answer.ok) return answer.faults;
          location.hash = `#/parts/${nameOf(typed["part"] ?? "")}`;
          await load();
          return [];
        }}
      />
    </div>
  );
}
