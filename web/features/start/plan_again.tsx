// Has the plan made, and says how that stands.
import { signal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { load } from "../../app/state.ts";
import { askPlanning, postPlanning, type Answer } from "../../core/client.ts";
import type { Planning } from "../../core/wire.ts";

const planning = signal<Planning | undefined>(undefined);
const fault = signal("");
const betweenLooks_ms = 1500;

async function take(answer: Answer<Planning>): Promise<void> {
  const before = planning.value?.state;
  fault.value = answer.ok ? "" : answer.faults[0]?.message ?? "";
  if (!answer.ok) return;
  planning.value = answer.value;
  if (before === "running" && answer.value.state === "done") await load();
}

export function PlanAgain({ words }: { words: string }) {
  const running = planning.value?.state === "running";
  useEffect(() => {
    void askPlanning().then(take);
  }, []);
  useEffect(() => {
    if (!running) return undefined;
    const timer = setInterval(() => void askPlanning().then(take), betweenLooks_ms);
    return () => clearInterval(timer);
  }, [running]);
  return (
    <div class="plan-again">
      <button type="button" class="print-now" disabled={running} onClick={() => void postPlanning().then(take)}>{words}</button>
      <p aria-live="polite">
        {running && "It is being planned. This page may stay open or be left meanwhile."}
        {planning.value?.state === "failed" && <><span class="mark look">Look here</span> {planning.value.say}</>}
        {fault.value && <><span class="mark look">Look here</span> {fault.value}</>}
      </p>
    </div>
  );
}
