// Faults in full: where, the value, what would do.
import type { Fault } from "../core/wire.ts";

function FaultLine({ fault }: { fault: Fault }) {
  const where = fault.file ? `${fault.file}${fault.line > 0 ? `, line ${fault.line}` : ""}` : "";
  return (
    <li>
      <p>
        {where && <strong>{where}: </strong>}
        {fault.key && <code>{fault.key}{fault.value ? ` = ${fault.value}` : ""}</code>} {fault.message}.
      </p>
      {fault.remedy && <p class="remedy">What would do: {fault.remedy}.</p>}
    </li>
  );
}

export function FaultList({ faults }: { faults: Fault[] }) {
  return <ul>{faults.map((fault, i) => <FaultLine key={i} fault={fault} />)}</ul>;
}
