// Margin lines of one setup: a line for each part that is begun and not ended.
import type { Lane } from "../core/wire.ts";

export const laneWidth = 15;
const middle = 19;

const at = (lane: number): number => laneWidth * lane + laneWidth / 2;

export function LaneStrip({ lanes, awaited, shown }: { lanes: Lane[]; awaited: number[]; shown: number }) {
  const own = lanes.findIndex((lane) => lane === "worked");
  return (
    <div class="lanes" style={{ width: `${laneWidth * lanes.length}px` }} aria-hidden="true"><svg>
      {lanes.map((lane, i) =>
        lane === "none" ? null : (
          <line key={i} class={i === shown ? "line shown" : "line"} x1={at(i)} x2={at(i)} y1="0" y2="100%" />
        ),
      )}
      {own >= 0 && awaited.map((lane) => {
        const towards = lane < own ? 1 : -1;
        const tip = at(own) - towards * 7;
        return (
          <path
            key={lane}
            class="arrow"
            d={`M${at(lane)} ${middle}H${tip}M${tip - towards * 4} ${middle - 3}L${tip} ${middle}L${tip - towards * 4} ${middle + 3}`}
          />
        );
      })}
      {lanes.map((lane, i) => {
        if (lane === "worked") return <circle key={i} class="worked" cx={at(i)} cy={middle} r="4.2" />;
        if (lane === "joined") return <circle key={i} class="joined" cx={at(i)} cy={middle} r="3.4" />;
        return null;
      })}
    </svg></div>
  );
}
