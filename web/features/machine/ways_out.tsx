// What can be done about a size outside its limits: touched, it is kept in the log, and the step or the piece stands as it leaves it.
import { Fragment } from "preact";
import { useState } from "preact/hooks";
import { record } from "../../app/build.ts";
import type { StandingReading, StepOnPiece, WayOut } from "../../core/wire.ts";
import { PlanAgain } from "../start/plan_again.tsx";

const afterwards: Record<WayOut["then"], string> = {
  done: "The step counts as done.",
  open: "The step stays open until it is measured again.",
  remade: "All that was done on the piece is open again; what was recorded stays in the log.",
};

export function WaysOut({ reading, place, number }: { reading: StandingReading; place: StepOnPiece; number: string }) {
  const [asked, setAsked] = useState<WayOut>();
  const [kept, setKept] = useState("");
  const choose = (way: WayOut): void => {
    const note = { kind: "note" as const, ...place, text: `Chosen: ${way.say}` };
    if (way.then === "done") void record(`${number} done`, note, { kind: "step_done", ...place });
    else if (way.then === "remade") void record(`the piece begun anew at ${number}`, note, { kind: "part_remade", part: place.part });
    else void record(`a note at ${number}`, note);
    setKept(`Kept: ${way.say} ${afterwards[way.then]}`);
    setAsked(undefined);
  };
  return (
    <>
      {reading.ways.length > 0 && (
        <section class="ways" aria-label="What can be done">
          <p class="say">What can be done, best first, with the odds of all that it bears on. Touch what you do:</p>
          {reading.ways.map((way) => (
            <Fragment key={way.say}>
              <button type="button" class="way" aria-pressed={asked === way} onClick={() => setAsked(way)}>{way.say}</button>
              {asked === way && (
                <div class="sure">
                  <p>{afterwards[way.then]}</p>
                  <div class="choice">
                    <button type="button" onClick={() => choose(way)}>So it is done: keep it</button>
                    <button type="button" onClick={() => setAsked(undefined)}>Not yet</button>
                  </div>
                </div>
              )}
            </Fragment>
          ))}
          <p aria-live="polite">{kept}</p>
        </section>
      )}
      {reading.plan_anew && <PlanAgain words="Plan what is left anew by it" />}
    </>
  );
}
