// Where a quantity is to be expected, against its limits. A scale, not a curve: mean, two builds in three,
// nineteen in twenty.
import type { Spread } from "../core/wire.ts";

const width = 300;
const rim = 12;

interface Known { mean: number; sigma: number; lower: number | null; upper: number | null }

function known(spread: Spread): Known | undefined {
  if (spread.mean === null || spread.sigma === null || spread.sigma <= 0) return undefined;
  if (spread.lower === null && spread.upper === null) return undefined;
  return { mean: spread.mean, sigma: spread.sigma, lower: spread.lower, upper: spread.upper };
}

function edges(k: Known): number[] {
  return [k.mean - 2 * k.sigma, k.mean + 2 * k.sigma, k.lower, k.upper].filter((v): v is number => v !== null);
}

function said(k: Known): string {
  const inside = (low: number, high: number): boolean =>
    (k.lower === null || low >= k.lower) && (k.upper === null || high <= k.upper);
  if (inside(k.mean - 2 * k.sigma, k.mean + 2 * k.sigma)) return "nineteen builds in twenty lie within the limits";
  if (inside(k.mean - k.sigma, k.mean + k.sigma)) return "two builds in three lie within the limits";
  return "the limits lie closer than the spread";
}

export function SpreadScale({ spread }: { spread: Spread }) {
  const k = known(spread);
  if (!k) return null;
  const from = Math.min(...edges(k));
  const to = Math.max(...edges(k));
  const at = (value: number): number => rim + ((value - from) / (to - from)) * (width - 2 * rim);
  const low = k.lower === null ? 0 : at(k.lower);
  const high = k.upper === null ? width : at(k.upper);
  return (
    <svg class="spread" viewBox={`0 0 ${width} 34`} role="img" aria-label={`Limits and spread: ${said(k)}`}>
      <line class="allowed" x1={low} x2={high} y1="27" y2="27" />
      {k.lower !== null && <path class="limit" d={`M${low} 6v24`} />}
      {k.upper !== null && <path class="limit" d={`M${high} 6v24`} />}
      <line class="most" x1={at(k.mean - 2 * k.sigma)} x2={at(k.mean + 2 * k.sigma)} y1="14" y2="14" />
      <line class="two-thirds" x1={at(k.mean - k.sigma)} x2={at(k.mean + k.sigma)} y1="14" y2="14" />
      <line class="mean" x1={at(k.mean)} x2={at(k.mean)} y1="8" y2="20" />
    </svg>
  );
}
