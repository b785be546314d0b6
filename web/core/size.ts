// Sizes as they are keyed in at the machine. No DOM here.
import type { Unit } from "./wire.ts";

export const mmPerInch = 25.4;

// mm, or undefined for what is no size. One point, digits, at most nine characters of them.
export function sizeFrom(typed: string, unit: Unit): number | undefined {
  if (!/^\d{0,5}(\.\d{0,5})?$/.test(typed) || !/\d/.test(typed)) return undefined;
  const value = Number(typed);
  return unit === "inch" ? value * mmPerInch : value;
}

export function sizeText(mm: number, unit: Unit): string {
  return unit === "inch" ? (mm / mmPerInch).toFixed(4) : mm.toFixed(3);
}

// What a size says against its limits, in words.
export function verdict(mm: number, lower_mm: number, upper_mm: number, unit: Unit): { word: string; within: boolean } {
  const by = (over: number): string => `${sizeText(over, unit)} ${unit === "inch" ? "in" : "mm"}`;
  const noise = 1e-9;
  if (mm > upper_mm + noise) return { word: `over the upper limit by ${by(mm - upper_mm)}`, within: false };
  if (mm < lower_mm - noise) return { word: `under the lower limit by ${by(lower_mm - mm)}`, within: false };
  return { word: "within the limits", within: true };
}
