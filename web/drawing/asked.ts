// What a page asks for when it is looked at, again when the unit or the sheets change.
import { useEffect, useState } from "preact/hooks";
import type { Answer } from "../core/client.ts";
import type { Fault } from "../core/wire.ts";

export interface Shown<T> { value: T | undefined; faults: Fault[] }

// depends: all that the answer depends on.
export function useAsked<T>(ask: () => Promise<Answer<T>>, depends: unknown[]): Shown<T> {
  const [shown, setShown] = useState<Shown<T>>({ value: undefined, faults: [] });
  useEffect(() => {
    let wanted = true;
    void ask().then((answer) => {
      if (!wanted) return;
      setShown((before) => (answer.ok ? { value: answer.value, faults: [] } : { value: before.value, faults: answer.faults }));
    });
    return () => { wanted = false; };
  }, depends);
  return shown;
}
