// A folder with nothing in it: bring a STEP file, or begin a part by hand.
import { useState } from "preact/hooks";
import { load, unitChosen } from "../../app/state.ts";
import { postStep } from "../../core/client.ts";
import type { Fault } from "../../core/wire.ts";
import { FaultList } from "../../drawing/faults.tsx";
import { PartByHand } from "./part_by_hand.tsx";
import "./start.css";

const mostBytes = 64 * 1024 * 1024;

function refusalOf(file: File): Fault | undefined {
  const fault = (message: string, remedy: string): Fault => (
    { code: "usage", message, value: file.name, remedy, file: "", line: 0, column: 0, key: file.name });
  if (!/\.(step|stp)$/i.test(file.name)) return fault("This is no STEP file", "write one from your drawing program, .step or .stp");
  if (file.size > mostBytes) return fault("The file is larger than 64 MB", "read it at the terminal: fitwright read FILE.step --into FOLDER");
  return undefined;
}

export function StartPage() {
  const [material, setMaterial] = useState("");
  const [reading, setReading] = useState("");
  const [over, setOver] = useState(false);
  const [faults, setFaults] = useState<Fault[]>([]);
  const bring = async (file: File | null | undefined): Promise<void> => {
    setOver(false);
    if (!file || reading) return;
    const refusal = refusalOf(file);
    setFaults(refusal ? [refusal] : []);
    if (refusal) return;
    setReading(file.name);
    const answer = await postStep(file, material.trim());
    setReading("");
    if (answer.ok) {
      location.hash = "#/parts";
      await load();
    } else {
      setFaults(answer.faults);
    }
  };
  return (
    <article class="start">
      <h1>A new build book</h1>
      <p>Nothing stands in this folder yet. Bring the machine as a STEP file: its parts, features, threads and joints are read from it, and what could not be understood is listed.</p>
      <label class="material">
        <span>Material of the made parts, where you know it</span>
        <input type="text" value={material} maxLength={40} placeholder="aluminium" onInput={(event) => setMaterial(event.currentTarget.value)} />
      </label>
      <div
        class={`drop${over ? " over" : ""}`}
        onDragOver={(event) => { event.preventDefault(); setOver(true); }}
        onDragLeave={() => setOver(false)}
        onDrop={(event) => { event.preventDefault(); void bring(event.dataTransfer?.files[0]); }}
      >
        <p class="what">{reading ? `Reading ${reading}` : "Drop a STEP file here"}</p>
        <label class="choose">
          <input type="file" accept=".step,.stp" disabled={reading !== ""} onChange={(event) => void bring(event.currentTarget.files?.[0])} />
          <span>or choose one</span>
        </label>
      </div>
      <p aria-live="polite" class="note">{reading && "This takes from a second to a minute. The page may stay open meanwhile."}</p>
      {faults.length > 0 && <div class="faults" role="alert"><p>Nothing was written.</p><FaultList faults={faults} /></div>}
      <h2>Or begin it by hand</h2>
      <p>From a paper drawing: one part first, its features after it, then how parts go together. It is written as text into this folder and can be changed line by line.</p>
      <PartByHand first unit={unitChosen.value ?? "mm"} />
      <p class="note">Sheets that were written elsewhere are shown as soon as they stand in the folder.</p>
      <button type="button" onClick={() => void load()}>Look again</button>
    </article>
  );
}
