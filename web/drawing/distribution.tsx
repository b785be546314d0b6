// How a quantity is spread over builds: a line as high as builds are many there, what misses hatched, limits in
// long dashes. What is asked about lies over it in a heavier line.
import type { SpreadDrawn } from "../core/wire.ts";

const width = 320;
const height = 140;
const foot = 22;
const top = 20;  // the limits' words stand above the line
const rim = 10;

interface Scale { from: number; to: number; highest: number }

// Height in builds to a length of the axis, so that two lines of different cells stand to scale.
function density(edges: number[], shares: number[]): number[] {
  const step = (edges[1] ?? 1) - (edges[0] ?? 0);
  return shares.map((share) => share / step);
}

const x = (value: number, scale: Scale): number => rim + ((value - scale.from) / (scale.to - scale.from)) * (width - 2 * rim);
const y = (value: number, scale: Scale): number => top + (1 - value / scale.highest) * (height - top - foot);
const f = (value: number): string => value.toFixed(1);

function lineOf(edges: number[], heights: number[], scale: Scale): string {
  if (heights.length === 0) return "";
  const points = heights.map((h, i) => `${f(x(((edges[i] ?? 0) + (edges[i + 1] ?? 0)) / 2, scale))} ${f(y(h, scale))}`);
  return `M${f(x(edges[0] ?? 0, scale))} ${f(y(0, scale))}L${points.join("L")}L${f(x(edges[edges.length - 1] ?? 0, scale))} ${f(y(0, scale))}`;
}

function Limit({ value, text, scale, right }: { value: number; text: string; scale: Scale; right: boolean }) {
  if (value < scale.from || value > scale.to) return null;
  const at = x(value, scale);
  const room = right ? width - at > 90 : at < 90;
  const anchor = room === right ? "start" : "end";
  return (
    <>
      <path class="limit" d={`M${f(at)} 4V${height - foot}`} />
      <text x={at + (anchor === "start" ? 3 : -3)} y="12" text-anchor={anchor}>{text}</text>
    </>
  );
}

function Misses({ id, path, scale, drawn }: { id: string; path: string; scale: Scale; drawn: SpreadDrawn }) {
  const outside: [number, number][] = [];
  if (drawn.lower !== null && drawn.lower > scale.from) outside.push([scale.from, Math.min(drawn.lower, scale.to)]);
  if (drawn.upper !== null && drawn.upper < scale.to) outside.push([Math.max(drawn.upper, scale.from), scale.to]);
  return (
    <>
      <defs>
        <pattern id={`${id}-hatch`} width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path class="hatch" d="M0 0V5" />
        </pattern>
        <clipPath id={`${id}-out`}>
          {outside.map(([from, to]) => <rect key={from} x={f(x(from, scale))} y="0" width={f(Math.max(0, x(to, scale) - x(from, scale)))} height={height} />)}
        </clipPath>
      </defs>
      <path class="misses" d={`${path}Z`} fill={`url(#${id}-hatch)`} clip-path={`url(#${id}-out)`} />
    </>
  );
}

function said(drawn: SpreadDrawn): string {
  const limits = [drawn.lower_text, drawn.upper_text].filter((text) => text !== "").join(", ");
  return `How it is spread over builds, ${drawn.axis}${limits && `; ${limits}`}`;
}

export function Distribution({ drawn, before: thin }: { drawn: SpreadDrawn; before: string }) {
  if (drawn.edges.length < 2) return null;
  const before = density(drawn.edges, drawn.before);
  const after = density(drawn.edges_after, drawn.after);
  const ends = [...drawn.edges, ...drawn.edges_after];
  const scale: Scale = { from: Math.min(...ends), to: Math.max(...ends), highest: Math.max(...before, ...after) };
  const first = lineOf(drawn.edges, before, scale);
  const then = lineOf(drawn.edges_after, after, scale);
  const id = `spread-${drawn.requirement.replace(/[^A-Za-z0-9]/g, "-")}`;
  return (
    <figure class="distribution">
      <svg viewBox={`0 0 ${width} ${height}`} role="img" aria-label={said(drawn)}>
        <Misses id={id} path={then || first} scale={scale} drawn={drawn} />
        <path class={then ? "line before" : "line"} d={first} />
        {then && <path class="line" d={then} />}
        <path class="axis" d={`M${rim} ${height - foot}H${width - rim}`} />
        {drawn.lower !== null && <Limit value={drawn.lower} text={drawn.lower_text} scale={scale} right={false} />}
        {drawn.upper !== null && <Limit value={drawn.upper} text={drawn.upper_text} scale={scale} right />}
        <text x={rim} y={height - 8} text-anchor="start">{scale.from.toFixed(drawn.decimals)}</text>
        <text x={width - rim} y={height - 8} text-anchor="end">{scale.to.toFixed(drawn.decimals)}</text>
        <text x={width / 2} y={height - 8} text-anchor="middle">{drawn.axis}</text>
      </svg>
      <figcaption>{drawn.source}; hatched is what misses.{then && ` The thin line is ${thin}.`}</figcaption>
    </figure>
  );
}
