// A setup's solids drawn so that they can be turned. Loaded only when it is asked for; drawn only when something
// has changed, so that nothing moves by itself.
import {
  AmbientLight, BufferAttribute, BufferGeometry, Color, DirectionalLight, Group, LineBasicMaterial, LineSegments, Mesh,
  MeshLambertMaterial, OrthographicCamera, Scene, Sphere, Vector3, WebGLRenderer,
} from "three";
import type { SolidBody, Solids } from "../../core/wire.ts";

export interface Inks { paper: string; ink: string; hair: string; shade: string; night: boolean }
export type Shown = "before" | "after";
export interface SolidScene {
  show(shown: Shown, holding: boolean): void;
  turn(right: number, up: number): void;  // radians
  zoom(factor: number): void;
  home(): void;
  ink(inks: Inks): void;
  fit(): void;  // to the canvas's size
  leave(): void;
}

function surfaceOf(body: SolidBody): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(body.points), 3));
  geometry.setIndex(body.triangles);
  geometry.computeVertexNormals();
  return geometry;
}

function linesOf(body: SolidBody): BufferGeometry {
  const ends: number[] = [];
  for (const edge of body.edges) {
    for (let i = 3; i + 2 < edge.length; i += 3) ends.push(...edge.slice(i - 3, i + 3));
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(ends), 3));
  return geometry;
}

interface Materials { piece: MeshLambertMaterial; holding: MeshLambertMaterial; edge: LineBasicMaterial; faint: LineBasicMaterial }

function makeMaterials(): Materials {
  const behindEdges = { polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 };
  return {
    piece: new MeshLambertMaterial(behindEdges),
    holding: new MeshLambertMaterial({ ...behindEdges, transparent: true, opacity: 0.35, depthWrite: false }),
    edge: new LineBasicMaterial(),
    faint: new LineBasicMaterial({ transparent: true, opacity: 0.7 }),
  };
}

function groupOf(bodies: SolidBody[], surface: MeshLambertMaterial, edge: LineBasicMaterial, order: number): Group {
  const group = new Group();
  for (const body of bodies) {
    const mesh = new Mesh(surfaceOf(body), surface);
    mesh.renderOrder = order;
    group.add(mesh, new LineSegments(linesOf(body), edge));
  }
  return group;
}

// Round the pieces themselves: what holds them may reach out of the picture.
function reachOf(bodies: SolidBody[]): Sphere {
  const points: Vector3[] = [];
  for (const body of bodies) {
    for (let i = 0; i + 2 < body.points.length; i += 3) points.push(new Vector3(body.points[i], body.points[i + 1], body.points[i + 2]));
  }
  return new Sphere().setFromPoints(points);
}

const rim = 1.25;
const steepest = 1.5;

class View implements SolidScene {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera();
  private readonly light = new DirectionalLight(0xffffff, 2);
  private readonly materials = makeMaterials();
  private readonly groups: { before: Group; after: Group; holding: Group };
  private readonly sphere: Sphere;
  private readonly up: Vector3;
  private readonly start: { round: number; height: number };
  private round = 0;
  private height = 0;
  private scale = 1;

  constructor(private readonly canvas: HTMLCanvasElement, solids: Solids, inks: Inks) {
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    const of = (role: SolidBody["role"]): SolidBody[] => solids.bodies.filter((body) => body.role === role);
    const { piece, holding, edge, faint } = this.materials;
    this.groups = { before: groupOf(of("before"), piece, edge, 0), after: groupOf(of("after"), piece, edge, 0), holding: groupOf(of("holding"), holding, faint, 1) };
    this.scene.add(this.groups.before, this.groups.after, this.groups.holding, new AmbientLight(0xffffff, 1.6), this.light);
    this.sphere = reachOf(of("before").concat(of("after")));
    // As one stands: at the mill z is up, at the lathe the spindle lies and its x comes towards one.
    this.up = solids.lathe ? new Vector3(0, -1, 0) : new Vector3(0, 0, 1);
    this.start = solids.lathe ? { round: 0.9, height: 0.45 } : { round: 0.41, height: 0.56 };
    this.ink(inks);
    this.show("after", true);
    this.fit();
    this.home();
  }

  // From the front, turned by `round` to the right and raised by `height`.
  private towardsEye(): Vector3 {
    const front = this.up.z === 1 ? new Vector3(0, -1, 0) : new Vector3(1, 0, 0);
    const right = new Vector3().crossVectors(this.up, front);
    const level = front.multiplyScalar(Math.cos(this.round)).addScaledVector(right, Math.sin(this.round));
    return level.multiplyScalar(Math.cos(this.height)).addScaledVector(this.up, Math.sin(this.height));
  }

  private draw(): void {
    const eye = this.towardsEye();
    const far = 10 * Math.max(1, this.sphere.radius);
    const half = (rim * Math.max(1, this.sphere.radius)) / this.scale;
    const ratio = this.canvas.clientWidth / Math.max(1, this.canvas.clientHeight);
    const [wide, high] = ratio > 1 ? [half * ratio, half] : [half, half / ratio];
    Object.assign(this.camera, { left: -wide, right: wide, top: high, bottom: -high, near: 0, far: 2 * far });
    this.camera.up.copy(this.up);
    this.camera.position.copy(this.sphere.center).addScaledVector(eye, far);
    this.camera.lookAt(this.sphere.center);
    this.camera.updateProjectionMatrix();
    const beside = new Vector3().crossVectors(this.up, eye);
    this.light.position.copy(eye).addScaledVector(beside, -0.5).addScaledVector(this.up, 0.6);
    this.renderer.render(this.scene, this.camera);
  }

  show(shown: Shown, holding: boolean): void {
    this.groups.before.visible = shown === "before";
    this.groups.after.visible = shown === "after";
    this.groups.holding.visible = holding;
    this.draw();
  }
  turn(right: number, up: number): void {
    this.round -= right;
    this.height = Math.max(-steepest, Math.min(steepest, this.height + up));
    this.draw();
  }
  zoom(factor: number): void {
    this.scale = Math.max(0.3, Math.min(20, this.scale * factor));
    this.draw();
  }
  home(): void {
    this.round = this.start.round;
    this.height = this.start.height;
    this.scale = 1;
    this.draw();
  }
  ink(inks: Inks): void {
    this.materials.piece.color = new Color(inks.night ? "#8d9299" : "#d9d3c4");
    this.materials.holding.color = new Color(inks.hair);
    this.materials.edge.color = new Color(inks.ink);
    this.materials.faint.color = new Color(inks.hair);
    this.draw();
  }
  fit(): void {
    this.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.renderer.setSize(this.canvas.clientWidth, this.canvas.clientHeight, false);
    this.draw();
  }
  leave(): void {
    this.renderer.dispose();
  }
}

// Throws where the browser cannot draw solids.
export function openScene(canvas: HTMLCanvasElement, solids: Solids, inks: Inks): SolidScene {
  return new View(canvas, solids, inks);
}
