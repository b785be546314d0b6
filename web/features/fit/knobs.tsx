// The numbers that may be turned, the weightiest first, and what is changed just now.
import { unit } from "../../app/state.ts";
import { mmPerInch } from "../../core/size.ts";
import type { Knob, KnobKind } from "../../core/wire.ts";
import { TallyStrip } from "../../drawing/tally.tsx";
import {
  answer, asking, asItStands, asPlanned, byReadings, changed, fault, findLessenings, knobs, lessen, takeAllBack, takeBack, turn, valueOf,
} from "./what_if.ts";

const firstShown = 6;
const weighty = 0.002;

// A length in the reader's unit; what is no length in its own.
function shown(value: number, own: string): string {
  const inch = own === "mm" && unit.value === "inch";
  return `${Number((inch ? value / mmPerInch : value).toPrecision(4))} ${inch ? "in" : own}`;
}

interface Turn { word: string; value: number }
function turnsOf(knob: Knob): Turn[] {
  const turns: Turn[] = [
    { word: "half", value: knob.now / 2 }, { word: "as it is", value: knob.now }, { word: "double", value: 2 * knob.now },
  ];
  for (const step of knob.steps) {
    if (!turns.some((one) => Math.abs(one.value - step.value) < 1e-9)) turns.push(step);
  }
  return turns.sort((a, b) => a.value - b.value);
}

function SpreadKnob({ knob }: { knob: Knob }) {
  const value = valueOf(knob);
  return (
    <fieldset class="knob">
      <legend>{knob.say}<span class="unit"> {shown(value, knob.unit)}</span></legend>
      <div class="turns">
        {turnsOf(knob).map((one) => (
          <label key={one.word}>
            <input
              type="radio" name={`knob-${knob.key}`} checked={Math.abs(value - one.value) < 1e-12}
              onChange={() => turn(knob, one.value)}
            />
            <span>{one.word}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

const finest: Record<KnobKind, { mm: number; inch: number }> = {
  spread: { mm: 0.001, inch: 0.0001 },
  limit: { mm: 0.005, inch: 0.0002 },
  clearance: { mm: 0.05, inch: 0.002 },
  aim: { mm: 0.002, inch: 0.0001 },
};

function NumberKnob({ knob }: { knob: Knob }) {
  const inch = knob.unit === "mm" && unit.value === "inch";
  const factor = inch ? mmPerInch : 1;
  const step = finest[knob.kind][inch ? "inch" : "mm"];
  const value = valueOf(knob) / factor;
  const text = String(Number(value.toFixed(inch ? 5 : 4)));
  const to = (wanted: number): void => turn(knob, wanted === Number((knob.now / factor).toFixed(inch ? 5 : 4)) ? knob.now : wanted * factor);
  const by = (steps: number): void => to(Number((value + steps * step).toFixed(inch ? 5 : 4)));
  return (
    <div class="knob number">
      <label for={`knob-${knob.key}`}>{knob.say}</label>
      <div class="turns">
        <button type="button" aria-label={`Less: ${knob.say}`} onClick={() => by(-1)}>&#8722;</button>
        <input
          id={`knob-${knob.key}`} type="text" inputMode="decimal" value={text} autocomplete="off"
          onChange={(event) => {
            const wanted = Number(event.currentTarget.value.replace(",", "."));
            if (event.currentTarget.value.trim() !== "" && Number.isFinite(wanted)) to(wanted);
            else event.currentTarget.value = text;
          }}
        />
        <span class="unit">{inch ? "in" : knob.unit}</span>
        <button type="button" aria-label={`More: ${knob.say}`} onClick={() => by(1)}>+</button>
      </div>
    </div>
  );
}

function Group({ title, list, open }: { title: string; list: Knob[]; open: boolean }) {
  if (list.length === 0) return null;
  const heavy = list.filter((knob, i) => knob.kind !== "spread" || (i < firstShown && knob.weight > weighty) || changed.value.has(knob.key));
  const light = list.filter((knob) => !heavy.includes(knob));
  const one = (knob: Knob) => (knob.kind === "spread" ? <SpreadKnob key={knob.key} knob={knob} /> : <NumberKnob key={knob.key} knob={knob} />);
  return (
    <details class="knobs" open={open}>
      <summary>{title}</summary>
      {heavy.map(one)}
      {light.length > 0 && (
        <details>
          <summary>{heavy.length > 0 ? `${light.length} more that weigh little` : `${light.length} that weigh little`}</summary>
          {light.map(one)}
        </details>
      )}
    </details>
  );
}

function Lessenings() {
  const found = lessen.value;
  const take = (key: string, to: number): void => {
    const knob = knobs.value.find((one) => one.key === key);
    if (knob) turn(knob, to);
  };
  return (
    <details class="knobs" onToggle={(event) => { if (event.currentTarget.open) void findLessenings(); }}>
      <summary>What would lessen the misses</summary>
      {!found && <p aria-live="polite" class="note">Each number is tried by itself: some seconds.</p>}
      {found && found.lessen.length === 0 && <p>Nothing by itself moves the odds by a tenth in a hundred.</p>}
      {found && (
        <ol class="lessen">
          {found.lessen.map((one) => (
            <li key={one.key}>
              <p>{one.say}</p>
              <p class="effects">{one.effects.replaceAll(" -> ", " \u2192 ")}{one.saves && `; ${one.saves}`}</p>
              {knobs.value.some((knob) => knob.key === one.key) && (
                <button type="button" onClick={() => take(one.key, one.to)} disabled={changed.value.get(one.key) === one.to}>Try it</button>
              )}
            </li>
          ))}
        </ol>
      )}
    </details>
  );
}

function Changed() {
  const said = answer.value;
  return (
    <div class="changed" aria-live="polite">
      {changed.value.size === 0 && <p class="note">Turn a number: the odds beside it follow at once. The plan and the sheets stay as they are.</p>}
      {said && changed.value.size > 0 && (
        <>
          <p class="all">All of it together <strong>{said.all.before.text}</strong> &#8594; <strong>{said.all.after.text}</strong></p>
          <TallyStrip met={said.all.after.met} />
          <ul class="turned">
            {said.changes.map((change) => (
              <li key={change.key}>
                <span>{change.say}: {shown(change.from, change.unit)} &#8594; {shown(change.to, change.unit)}</span>
                <button type="button" aria-label={`Take back: ${change.say}`} onClick={() => takeBack(change.key)}>Take back</button>
              </li>
            ))}
          </ul>
          {said.changes.length > 1 && <button type="button" onClick={takeAllBack}>Take all back</button>}
          <p class="note">Counted in the same {said.builds.toLocaleString("en")} builds on paper.</p>
        </>
      )}
      {!said && asking.value && <p class="note">Asking.</p>}
      {fault.value && <p><span class="mark look">Look here</span> {fault.value.message}. {fault.value.remedy}</p>}
    </div>
  );
}

function ByReadings() {
  if (byReadings.value === 0 && !asPlanned.value) return null;
  const readings = byReadings.value === 1 ? "the reading" : `the ${byReadings.value} readings`;
  return (
    <p class="by-readings">
      {asPlanned.value
        ? <span>Asked of the plan as if nothing were made: all of it together <strong>{asItStands.value}</strong>.</span>
        : <span>Asked of the machine as it stands, by {readings} so far: all of it together <strong>{asItStands.value}</strong>.</span>}
      <button type="button" onClick={() => { asPlanned.value = !asPlanned.value; }}>
        {asPlanned.value ? "Ask as it stands" : "Ask as planned"}
      </button>
    </p>
  );
}

export function Knobs() {
  const of = (kind: KnobKind): Knob[] => knobs.value.filter((knob) => knob.kind === kind);
  if (knobs.value.length === 0) return null;
  return (
    <section class="what-if" aria-label="What if">
      <h2>What if</h2>
      <ByReadings />
      <Changed />
      <Group title="What the shop holds" list={of("spread")} open />
      <Group title="Clearance of holes round screws" list={of("clearance")} open={false} />
      <Group title="Sizes aimed at" list={of("aim")} open={false} />
      <Group title="Limits of what is asked" list={of("limit")} open={false} />
      <Lessenings />
    </section>
  );
}
