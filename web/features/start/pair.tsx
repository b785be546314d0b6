// A device that the program does not know yet shows the code that stands on the terminal.
import { useState } from "preact/hooks";
import { listen } from "../../app/build.ts";
import { load } from "../../app/state.ts";
import { postCode } from "../../core/client.ts";

function given(name: string): string {
  return new URLSearchParams(location.hash.slice(1)).get(name) ?? "";
}

export function PairPage() {
  const [code, setCode] = useState(given("pair"));
  const [fault, setFault] = useState("");
  const mark = given("mark").match(/../g)?.join(":");
  const pair = async (event: Event): Promise<void> => {
    event.preventDefault();
    const answer = await postCode(code);
    setFault(answer.ok ? "" : answer.faults[0]?.message ?? "");
    if (!answer.ok) return;
    location.hash = "#/overview";
    await load();
    listen();
  };
  return (
    <article class="start">
      <h1>Pair this device</h1>
      <p>The program shows a code at the terminal. It is used once; from then on this device is known.</p>
      {mark && <p>The certificate that this browser warned of must have the SHA-256 that stands there too: <code>{mark}</code></p>}
      <form class="words" onSubmit={(event) => void pair(event)}>
        <label>
          <span>Code</span>
          <input type="text" autocomplete="off" autocapitalize="characters" spellcheck={false} maxLength={12} value={code} onInput={(event) => setCode(event.currentTarget.value)} />
        </label>
        <button type="submit" class="print-now" disabled={code.trim() === ""}>Pair</button>
      </form>
      {fault && <p role="alert"><span class="mark look">Look here</span> {fault}: look at the terminal, it may have another one by now.</p>}
    </article>
  );
}
