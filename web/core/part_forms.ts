// A part begun by hand: what is asked, and the tables that make its sheet and its line in machine.toml. No DOM here.
import { lengthOf, lengthsOf, nameOf, type Field, type Form, type Typed } from "./forms.ts";
import type { SheetTable, SheetValue, Unit } from "./wire.ts";

export type Shape = "block" | "turned";

const partName: Field = { key: "part", label: "The part's name", type: "name", hint: "such as bracket" };
const material: Field = { key: "material", label: "Material", type: "text", hint: "aluminium, brass, mild steel, bronze, ..." };
const bought: Field = {
  key: "stock", label: "Stock as bought", type: "lengths", optional: true,
  hint: "left out: the next size sold around it",
};
const stands: Field = {
  key: "stands", label: "Where its origin stands in the machine", type: "lengths", optional: true, hint: "x, y, z; left out: 0, 0, 0",
};
const quantity: Field = { key: "quantity", label: "How many", type: "count", optional: true, hint: "left out: one" };

const blockFields: Field[] = [
  partName, material,
  { key: "size", label: "Size along x, y, z", type: "lengths", hint: "such as 60, 50, 40; places are counted from the left, front, lower corner" },
  { ...bought, hint: "x, y, z, a few larger than the part; left out: the next size sold around it" },
];
const turnedFields: Field[] = [
  partName, material,
  { key: "diameter", label: "Greatest diameter", type: "length" },
  { key: "length", label: "Length of that diameter", type: "length", hint: "its axis is z, from 0 up; other diameters are added after" },
  { ...bought, type: "lengths", hint: "bar: diameter, length; left out: the next size sold around it" },
];

export function partForm(shape: Shape, first: boolean): Form {
  const fields = shape === "block" ? blockFields : turnedFields;
  return {
    kind: shape, title: shape === "block" ? "A block" : "Turned work", say: "",
    fields: first ? [{ key: "machine", label: "What the machine is called", type: "text" }, ...fields] : [...fields, quantity, stands],
  };
}

function shapeTables(file: string, shape: Shape, typed: Typed): SheetTable[] {
  const size = lengthsOf(typed["size"] ?? "");
  const [x = "", y = "", z = ""] = size;
  const stock = lengthsOf(typed["stock"] ?? "");
  if (shape === "block") {
    const tables: SheetTable[] = [{ file, table: "envelope", keys: { block: { x: [0, x], y: [0, y], z: [0, z] } } }];
    if (stock.length > 0) tables.push({ file, table: "stock", keys: { form: "flat", size: stock } });
    return tables;
  }
  const tables: SheetTable[] = [{ file, table: "envelope", keys: { turned: { axis: "+z", through: [0, 0, 0] } } }];
  const [diameter, length] = stock;
  if (diameter !== undefined) {
    const keys: { [key: string]: SheetValue } = { form: "round", diameter };
    if (length !== undefined) keys["length"] = length;
    tables.push({ file, table: "stock", keys });
  }
  tables.push({
    file, table: "feature",
    keys: { name: "outside", kind: "outer_diameter", from: 0, to: lengthOf(typed["length"] ?? ""), diameter: lengthOf(typed["diameter"] ?? "") },
  });
  return tables;
}

// unit: of bare numbers in the sheets; machine: not begun yet, where that is wanted too.
export function partTables(shape: Shape, typed: Typed, unit: Unit, first: boolean): SheetTable[] {
  const sheet = nameOf(typed["part"] ?? "");
  const file = `parts/${sheet}.toml`;
  const line: { [key: string]: SheetValue } = { sheet };
  if ((typed["quantity"] ?? "").trim() !== "") line["quantity"] = Number(typed["quantity"]);
  if ((typed["stands"] ?? "").trim() !== "") line["at"] = lengthsOf(typed["stands"] ?? "");
  const head: SheetTable[] = first
    ? [{ file: "machine.toml", table: "", keys: { format: "fitwright-machine/1", name: (typed["machine"] ?? "").trim(), units: unit } }]
    : [];
  return [
    ...head,
    { file: "machine.toml", table: "part", keys: line },
    { file, table: "", keys: { format: "fitwright-part/1", material: (typed["material"] ?? "").trim(), unit } },
    ...shapeTables(file, shape, typed),
  ];
}
