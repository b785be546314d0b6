// What is asked for each kind of feature, joint and requirement that is typed in. No DOM here.
import { sides, type Field, type Form } from "./forms.ts";

const name = (like: string): Field => ({ key: "name", label: "Name", type: "name", hint: `such as ${like}; given once` });
const from: Field = {
  key: "from", label: "Side the tool comes from", type: "side", options: sides.map((side) => ({ value: side, text: side })),
};
const at: Field = {
  key: "at", label: "Place", type: "places", optional: true,
  hint: "the two other coordinates, such as 0, 12; several places with semicolons; on turned work left out: the axis",
};
const circle: Field[] = [
  { key: "circle_count", label: "Or on a circle: how many", type: "count", optional: true },
  { key: "circle_diameter", label: "The circle's diameter", type: "length", optional: true },
  { key: "circle_first", label: "First at, degrees", type: "text", optional: true },
];
const depth: Field = { key: "depth", label: "Depth", type: "depth", hint: "left out: right through" };
const diameter: Field = { key: "diameter", label: "Diameter", type: "length" };
const limits: Field = {
  key: "limits", label: "Limits", type: "limits", optional: true,
  hint: "H7, or 0.02 either way, or 24.9 to 25.1; left out: the sheet's general tolerance",
};
const fromTo: Field[] = [
  { key: "from", label: "From, along the axis", type: "length" },
  { key: "to", label: "To, along the axis", type: "length" },
];
const thread: Field = { key: "thread", label: "Thread", type: "thread", hint: "M4, 1/4-20, 2 BA" };

export const featureForms: Form[] = [
  { kind: "hole", title: "Hole", say: "drilled, with nothing in it but a screw or a pin", fields: [name("oil_hole"), from, at, ...circle, diameter, depth, limits] },
  {
    kind: "hole tapped", title: "Tapped hole", say: "its tap drill is looked up",
    fields: [name("cover_holes"), from, at, ...circle, thread, { key: "thread_depth", label: "Depth of full thread", type: "length", optional: true }, depth],
  },
  { kind: "bore", title: "Bore", say: "a hole whose size matters", fields: [name("crank_bore"), from, at, diameter, depth, limits] },
  { kind: "counterbore", title: "Counterbore", say: "for a head or a bearing", fields: [name("bearing_seat"), from, at, diameter, { ...depth, type: "length", hint: "" }, limits] },
  {
    kind: "planar_face", title: "Face with limits", say: "of a block, or an end or shoulder of turned work",
    fields: [name("deck"), { ...from, key: "side", label: "Side it looks to" }, { key: "at", label: "Stands at", type: "length", hint: "the coordinate along that side's axis" }, limits],
  },
  { kind: "outer_diameter", title: "Outside diameter", say: "of turned work", fields: [name("journal"), ...fromTo, diameter, limits] },
  { kind: "spigot", title: "Spigot", say: "an outside diameter that goes into a bore", fields: [name("spigot"), ...fromTo, diameter, limits] },
  { kind: "groove", title: "Groove", say: "round turned work", fields: [name("ring_groove"), ...fromTo, { ...diameter, label: "Diameter of its floor" }, limits] },
  {
    kind: "slot", title: "Slot", say: "with round ends",
    fields: [name("slot"), from, { ...at, key: "at", optional: false, hint: "its middle" }, { key: "along", label: "Runs along", type: "side", options: from.options ?? [] },
      { key: "length", label: "Length over the ends", type: "length" }, { key: "width", label: "Width", type: "length" }, depth, limits],
  },
  {
    kind: "pocket", title: "Pocket", say: "with round corners",
    fields: [name("pocket"), from, { ...at, optional: false, hint: "its middle" }, { key: "along", label: "Length runs along", type: "side", options: from.options ?? [] },
      { key: "length", label: "Length", type: "length" }, { key: "width", label: "Width", type: "length" },
      { key: "corner_radius", label: "Radius of its corners", type: "length" }, { ...depth, type: "length", hint: "" }],
  },
];

const fixed = (kinds: string[], label: string): Field => ({ key: "fixed", label, type: "feature", kinds });
const moving = (kinds: string[], label: string): Field => ({ key: "moving", label, type: "feature", kinds });
const rounds = ["outer_diameter", "spigot", "boss"];
const holes = ["hole", "bore", "counterbore"];

function roundJoint(kind: string, title: string, say: string, more: Field[] = []): Form {
  return { kind, title, say, fields: [name(kind.split("_")[0] ?? kind), fixed(holes, "The bore"), moving(rounds, "What goes into it"), ...more] };
}

export const jointForms: Form[] = [
  {
    kind: "screwed_pattern", title: "Screws", say: "through clear holes into tapped ones; a requirement that they enter follows",
    fields: [name("cover_screws"), fixed(["hole"], "The tapped holes"), moving(["hole"], "The clear holes"),
      { key: "screw_thread", label: "Screw", type: "thread", hint: "M4" }, { key: "screw_length", label: "Length under the head", type: "length" }],
  },
  { kind: "face_contact", title: "Face on face", say: "they lie against each other", fields: [name("cover_face"), fixed(["planar_face"], "The face that stays"), moving(["planar_face"], "The face put to it")] },
  roundJoint("spigot_in_bore", "Spigot in a bore", "it locates"),
  roundJoint("running_fit", "Running fit", "it turns"),
  roundJoint("slider_in_bore", "Slider", "it goes to and fro"),
  roundJoint("press_fit", "Press fit", "it is pressed in and stays"),
  roundJoint("bonded", "Bonded", "held by an adhesive", [
    { key: "compound", label: "Adhesive", type: "text", hint: "retaining compound" },
    { key: "cure_min", label: "Minutes until it may be handled", type: "minutes" }]),
  { kind: "pinned", title: "Pins", say: "a pin through each pair of holes", fields: [name("dowels"), fixed(["hole"], "Holes of the one"), moving(["hole"], "Holes of the other"), { key: "pin_diameter", label: "Diameter of the pin", type: "length" }] },
];

const a = (label: string, kinds?: string[]): Field => ({ key: "a", label, type: "feature", ...(kinds ? { kinds } : {}) });
const b = (label: string, kinds?: string[]): Field => ({ key: "b", label, type: "feature", ...(kinds ? { kinds } : {}) });
const say: Field = { key: "say", label: "In your words", type: "text", optional: true, hint: "as the book says it" };
const within: Field = { key: "within", label: "Within", type: "length" };
const over: Field = { key: "over", label: "Over a length of", type: "length" };
const leastGreatest: Field[] = [
  { key: "least_limit", label: "At least", type: "length" }, { key: "greatest_limit", label: "At most", type: "length" },
];
const all = [...rounds, ...holes, "planar_face", "groove"];

export const requirementForms: Form[] = [
  { kind: "square", title: "Square", say: "one stands square to the other", fields: [name("bore_square"), a("This", all), b("To this", all), within, over, say] },
  { kind: "parallel", title: "Parallel", say: "they run alike", fields: [name("faces_parallel"), a("This", all), b("To this", all), within, over, say] },
  { kind: "in_line", title: "In line", say: "two round features on one axis", fields: [name("bores_in_line"), a("This", [...rounds, ...holes]), b("With this", [...rounds, ...holes]), within, say] },
  { kind: "run_out", title: "Runs true", say: "full reading of the indicator", fields: [name("flange_true"), a("This", [...rounds, ...holes]), b("About this", [...rounds, ...holes]), within, say] },
  { kind: "clearance", title: "Clearance", say: "bore less shaft", fields: [name("piston_clearance"), a("The shaft", rounds), b("The bore", holes), ...leastGreatest, say] },
  { kind: "interference", title: "Tightness", say: "shaft less bore", fields: [name("ring_tight"), a("The shaft", rounds), b("The bore", holes), ...leastGreatest, say] },
  { kind: "flush", title: "Flush", say: "two faces level", fields: [name("foot_flush"), a("This face", ["planar_face"]), b("With this", ["planar_face"]), within, say] },
  { kind: "distance", title: "Stands beyond", say: "how far one face stands beyond another", fields: [name("bush_height"), a("This face", ["planar_face"]), b("Beyond this", ["planar_face"]), ...leastGreatest, say] },
  { kind: "wall_left", title: "Wall left", say: "metal between them", fields: [name("wall"), a("This", all), b("And this", all), { key: "least", label: "At least", type: "length" }, say] },
];
