// The sheets are read, and nothing is planned yet: plan, from here or at the terminal.
import { addressOf, checked, load } from "../../app/state.ts";
import { PlanAgain } from "./plan_again.tsx";

export function NoPlanPage() {
  const findings = checked.value?.findings.length ?? 0;
  return (
    <article class="start">
      <h1>No plan yet</h1>
      <p>The sheets are read, and nothing has been planned. {findings > 0 && <>Look at the <a href={addressOf("parts")}>parts</a> first: {findings} thing{findings > 1 && "s"} found against the sheets.</>}</p>
      <PlanAgain words="Make the plan" />
      <p class="note">A small machine takes seconds, twenty parts some minutes. At the terminal it is: fitwright plan FOLDER</p>
      <button type="button" onClick={() => void load()}>Look again</button>
    </article>
  );
}
