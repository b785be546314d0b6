// A hundred strokes as one scores them: four standing, the fifth across. Those that do not stand are dots.

const gates = 20;
const gateWidth = 11;
const height = 14;

function strokes(gate: number, met: number): string {
  const standing = Math.max(0, Math.min(5, met - 5 * gate));
  const x = gate * gateWidth + 1.5;
  let path = "";
  for (let i = 0; i < Math.min(4, standing); ++i) path += `M${x + 2 * i} 2v10`;
  if (standing === 5) path += `M${x - 1} 10.5l8 -7`;
  return path;
}

function dots(gate: number, met: number): string {
  const standing = Math.max(0, Math.min(5, met - 5 * gate));
  const x = gate * gateWidth + 1.5;
  let path = "";
  for (let i = standing; i < 4; ++i) path += `M${x + 2 * i} 12v.01`;
  if (standing < 5) path += `M${x + 8} 12v.01`;
  return path;
}

export function TallyStrip({ met }: { met: number }) {
  const all = Array.from({ length: gates }, (_, gate) => gate);
  return (
    <svg class="tally" viewBox={`0 0 ${gates * gateWidth} ${height}`} role="img" aria-label={`${met} strokes of a hundred`}>
      <path class="stand" d={all.map((gate) => strokes(gate, met)).join("")} />
      <path class="lie" d={all.map((gate) => dots(gate, met)).join("")} />
    </svg>
  );
}
