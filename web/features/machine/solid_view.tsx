// The setup's solids, to be turned by finger, mouse and keys.
import { useEffect, useRef, useState } from "preact/hooks";
import { ground } from "../../app/state.ts";
import { askSolids } from "../../core/client.ts";
import { useAsked } from "../../drawing/asked.ts";
import type { Inks, Shown, SolidScene } from "./solid_scene.ts";
import "./solid.css";

// A file of its own, which no other page has to load.
const sceneFile = "/solid.js";

function inksNow(): Inks {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(name).trim();
  return { paper: of("--paper"), ink: of("--ink"), hair: of("--hair"), shade: of("--shade"), night: ground.value === "night" };
}

const perPixel = 0.008;  // radians
const perKey = 0.15;
const perStep = 1.2;

// Pointers that are down: one turns, two draw nearer.
class Fingers {
  private readonly down = new Map<number, { x: number; y: number }>();
  constructor(private readonly scene: () => SolidScene | undefined) {}
  private apart(): number {
    const [a, b] = [...this.down.values()];
    return a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
  }
  put(event: PointerEvent): void {
    (event.currentTarget as HTMLElement).setPointerCapture(event.pointerId);
    this.down.set(event.pointerId, { x: event.clientX, y: event.clientY });
  }
  move(event: PointerEvent): void {
    const was = this.down.get(event.pointerId);
    if (!was) return;
    const before = this.apart();
    this.down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (this.down.size === 1) this.scene()?.turn((event.clientX - was.x) * perPixel, (event.clientY - was.y) * perPixel);
    else if (before > 0) this.scene()?.zoom(this.apart() / before);
  }
  lift(event: PointerEvent): void {
    this.down.delete(event.pointerId);
  }
}

function onKey(scene: SolidScene, event: KeyboardEvent): boolean {
  switch (event.key) {
    case "ArrowLeft": scene.turn(-perKey, 0); return true;
    case "ArrowRight": scene.turn(perKey, 0); return true;
    case "ArrowUp": scene.turn(0, -perKey); return true;
    case "ArrowDown": scene.turn(0, perKey); return true;
    case "+": case "=": scene.zoom(perStep); return true;
    case "-": scene.zoom(1 / perStep); return true;
    case "Home": scene.home(); return true;
    default: return false;
  }
}

export function SolidView({ setup, heading }: { setup: number; heading: string }) {
  const { value: solids, faults } = useAsked(() => askSolids(setup), [setup]);
  const canvas = useRef<HTMLCanvasElement>(null);
  const scene = useRef<SolidScene | undefined>(undefined);
  const fingers = useRef(new Fingers(() => scene.current));
  const [state, setState] = useState("coming");
  const [shown, setShown] = useState<Shown>("after");
  const [holding, setHolding] = useState(true);
  useEffect(() => {
    let wanted = true;
    if (!solids) return;
    void (import(sceneFile) as Promise<typeof import("./solid_scene.ts")>).then(({ openScene }) => {
      if (!wanted || !canvas.current) return;
      scene.current = openScene(canvas.current, solids, inksNow());
      setState("there");
    }).catch(() => setState("none"));
    const resized = (): void => scene.current?.fit();
    addEventListener("resize", resized);
    return () => {
      wanted = false;
      removeEventListener("resize", resized);
      scene.current?.leave();
      scene.current = undefined;
    };
  }, [solids]);
  useEffect(() => scene.current?.show(shown, holding), [shown, holding, state]);
  useEffect(() => scene.current?.ink(inksNow()), [ground.value]);
  const act = (what: (scene: SolidScene) => void) => () => { if (scene.current) what(scene.current); };
  return (
    <div class="solid-view">
      <canvas
        ref={canvas} tabIndex={0} role="img" class={state}
        aria-label={`${heading}, ${shown === "after" ? "after its cuts" : "before its cuts"}; arrow keys turn it, plus and minus draw nearer, Home puts it back`}
        onPointerDown={(event) => fingers.current.put(event)}
        onPointerMove={(event) => fingers.current.move(event)}
        onPointerUp={(event) => fingers.current.lift(event)}
        onPointerCancel={(event) => fingers.current.lift(event)}
        onWheel={(event) => { event.preventDefault(); scene.current?.zoom(event.deltaY < 0 ? perStep : 1 / perStep); }}
        onKeyDown={(event) => { if (scene.current && onKey(scene.current, event)) { event.preventDefault(); event.stopPropagation(); } }}
      />
      <div class="choice solid-turns">
        <button type="button" aria-pressed={shown === "before"} onClick={() => setShown("before")}>Before</button>
        <button type="button" aria-pressed={shown === "after"} onClick={() => setShown("after")}>After</button>
        <button type="button" aria-pressed={holding} onClick={() => setHolding(!holding)}>Holding</button>
        <button type="button" aria-label="Turn left" onClick={act((s) => s.turn(-perKey, 0))}>&#8630;</button>
        <button type="button" aria-label="Turn right" onClick={act((s) => s.turn(perKey, 0))}>&#8631;</button>
        <button type="button" aria-label="Nearer" onClick={act((s) => s.zoom(perStep))}>+</button>
        <button type="button" aria-label="Further" onClick={act((s) => s.zoom(1 / perStep))}>&#8722;</button>
        <button type="button" onClick={act((s) => s.home())}>As it stood</button>
      </div>
      <p class="coming" role="status">
        {faults.length > 0 ? `It was not made: ${faults[0]?.message ?? ""}.` : state === "coming" ? "The solids are being made." : state === "none" ? "This browser does not draw solids." : ""}
      </p>
    </div>
  );
}
