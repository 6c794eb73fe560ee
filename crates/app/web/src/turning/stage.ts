// The head in three dimensions: skin, lines, hair as it lies, how well a bond
// is hidden, and the sandwiches. It draws when something changed and knows
// nothing of rules.
import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DoubleSide,
  Group,
  Line,
  LineBasicMaterial,
  LineDashedMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Raycaster,
  Scene as World,
  ShaderMaterial,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { ear } from "./features";
import type { Mark, OnSkin, Picture, Scene, StyleDrawn, Triple } from "./shapes";

const EDGE = { onLight: "#26221f", onDark: "#fdf8ef", chosen: "#1b5fc1", refused: "#d3382f" };

/** The edge of a sandwich: it stands out from its shade and from the head. */
function edgeOf(mark: Mark, fill: string): string {
  if (mark !== "plain") return EDGE[mark];
  const { l } = new Color(fill).getHSL({ h: 0, s: 0, l: 0 });
  return l < 0.28 ? EDGE.onDark : EDGE.onLight;
}
/** Outward distances, mm: lines just over the skin, tabs over the lines. */
const LINES_OUT = 0.9;
const HAIR_OUT = 1.4;
const TABS_OUT = 2.6;
/** The view, degrees round and up; how near, mm. */
export interface View {
  round: number;
  up: number;
}
export const VIEWS: Record<string, View> = {
  Back: { round: 0, up: 6 },
  "Client’s left": { round: -90, up: 6 },
  "Client’s right": { round: 90, up: 6 },
  Top: { round: 0, up: 78 },
};
const NEAREST = 330;
const FARTHEST = 900;

const SKIN_SHADER = {
  vertexShader: `
    attribute float hair; attribute float heat;
    varying float vHair; varying float vHeat; varying vec3 vOut;
    void main() {
      vHair = hair; vHeat = heat; vOut = normalize(normalMatrix * normal);
      gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
    }`,
  fragmentShader: `
    uniform vec3 skin; uniform vec3 ground; uniform vec3 grown; uniform vec3 shows; uniform vec3 nearly; uniform vec3 hidden;
    uniform float limit; uniform float heated;
    varying float vHair; varying float vHeat; varying vec3 vOut;
    void main() {
      float lit = 0.62 + 0.30 * max(dot(normalize(vOut), normalize(vec3(-0.35, 0.55, 0.75))), 0.0)
        + 0.12 * max(dot(normalize(vOut), normalize(vec3(0.6, -0.1, 0.6))), 0.0);
      vec3 colour = mix(skin, grown, 0.85 * vHair);
      if (heated > 0.5) {
        vec3 band = vHeat >= limit
          ? mix(mix(hidden, vec3(1.0), 0.42), hidden, clamp((vHeat - limit) / (1.0 - limit), 0.0, 1.0))
          : mix(shows, nearly, clamp(vHeat / limit, 0.0, 1.0));
        float line = 1.0 - smoothstep(0.0, 1.4, abs(vHeat - limit) / max(fwidth(vHeat), 1e-5));
        band = mix(band, vec3(0.12), 0.55 * line);
        colour = mix(colour, band, smoothstep(0.02, 0.25, vHair));
      }
      // Bare skin stays quiet, near the ground behind it: the head is there for its scalp.
      gl_FragColor = vec4(mix(ground, colour * lit, mix(0.35, 1.0, smoothstep(0.0, 0.3, vHair))), 1.0);
      #include <colorspace_fragment>
    }`,
};

interface Drawn {
  group: Group;
  edge: Mesh;
  faces: Mesh[];
}

export class Stage implements Picture {
  readonly canvas: HTMLCanvasElement;
  private readonly renderer: WebGLRenderer;
  private readonly world = new World();
  private readonly camera = new PerspectiveCamera(26, 1, 50, 2000);
  private readonly skin: Mesh<BufferGeometry, ShaderMaterial>;
  private readonly middle = new Vector3();
  private readonly upward: Vector3;
  private readonly ahead: Vector3;
  private readonly sites = new Map<string, Drawn>();
  private readonly tabHeight: number;
  private hairLines: LineSegments | undefined;
  private view: View = { ...VIEWS["Back"]! };
  private near = 540;
  private asked = false;
  private turning: number | undefined;
  private readonly caster = new Raycaster();
  /** Called after every picture, to lay labels over it. */
  onDrawn: () => void = () => {};

  /** Sets up the head; throws where the browser cannot draw in three dimensions. */
  constructor(canvas: HTMLCanvasElement, scene: Scene) {
    this.canvas = canvas;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
    this.tabHeight = scene.tab_height_mm;
    this.upward = new Vector3(...scene.up);
    this.ahead = new Vector3(0, 1, 0).addScaledVector(this.upward, -this.upward.y).normalize();
    this.skin = this.skinOf(scene);
    this.world.add(this.skin);
    this.skin.geometry.computeBoundingBox();
    this.skin.geometry.boundingBox?.getCenter(this.middle);
    this.middle.addScaledVector(this.upward, 14);
    for (const outline of [scene.landmarks.left_ear, scene.landmarks.right_ear]) this.world.add(ear(outline, this.middle, this.ahead, this.upward));
    this.line(scene.landmarks.nape_hairline, "#4a3f37", false);
    this.line(scene.landmarks.front_hairline, "#4a3f37", false);
    this.line(scene.landmarks.left_behind_ear, "#4a3f37", false);
    this.line(scene.landmarks.right_behind_ear, "#4a3f37", false);
    this.line(scene.midline, "#7d7167", true);
    this.line(scene.landmarks.ear_to_ear_line, "#7d7167", true);
    for (const row of scene.rows) this.partings(row.line);
    new ResizeObserver(() => this.fit()).observe(canvas.parentElement ?? canvas);
    this.fit();
  }

  private skinOf(scene: Scene): Mesh<BufferGeometry, ShaderMaterial> {
    const geometry = new BufferGeometry();
    const positions = new Float32Array(scene.mesh.positions_mm);
    const normals = new Float32Array(scene.mesh.normals);
    geometry.setIndex(scene.mesh.indices);
    geometry.setAttribute("position", new BufferAttribute(positions, 3));
    geometry.setAttribute("normal", new BufferAttribute(normals, 3));
    geometry.setAttribute("hair", new BufferAttribute(new Float32Array(scene.hair.map((share) => share / 255)), 1));
    geometry.setAttribute("heat", new BufferAttribute(new Float32Array(scene.hair.length), 1));
    const uniform = (value: string) => ({ value: new Color(value) });
    const material = new ShaderMaterial({
      ...SKIN_SHADER,
      uniforms: {
        skin: uniform("#e8d9cb"),
        ground: uniform(window.matchMedia("(prefers-color-scheme: dark)").matches ? "#282d2e" : "#f0ebe4"),
        grown: uniform("#b9a593"),
        shows: uniform("#b5432a"),
        nearly: uniform("#f0b669"),
        hidden: uniform("#2f7f8c"),
        limit: { value: scene.hidden_from },
        heated: { value: 0 },
      },
    });
    return new Mesh(geometry, material);
  }

  /** A line over the skin. */
  private line(points: Triple[], colour: string, dashed: boolean): void {
    if (points.length < 2) return;
    const lifted = points.map((p) => this.lifted(new Vector3(...p), LINES_OUT));
    const geometry = new BufferGeometry().setFromPoints(lifted);
    const material = dashed
      ? new LineDashedMaterial({ color: colour, dashSize: 3, gapSize: 3 })
      : new LineBasicMaterial({ color: colour });
    const line = new Line(geometry, material);
    if (dashed) line.computeLineDistances();
    this.world.add(line);
  }

  private partings(points: OnSkin[]): void {
    if (points.length < 2) return;
    const lifted = points.map((p) => new Vector3(...p.at_mm).addScaledVector(new Vector3(...p.out), LINES_OUT));
    this.world.add(new Line(new BufferGeometry().setFromPoints(lifted), new LineBasicMaterial({ color: "#fbf7f1" })));
  }

  private lifted(p: Vector3, out: number): Vector3 {
    return p.addScaledVector(p.clone().sub(this.middle).normalize(), out);
  }

  /** Shows how one style hides a bond and how hair lies in it; nothing of either without one. */
  wear(style: StyleDrawn | undefined): void {
    const heat = this.skin.geometry.getAttribute("heat") as BufferAttribute;
    this.skin.material.uniforms["heated"]!.value = style ? 1 : 0;
    this.hairLines?.geometry.dispose();
    this.hairLines?.removeFromParent();
    this.hairLines = undefined;
    if (style) {
      style.heat.forEach((share, i) => heat.setX(i, share / 255));
      heat.needsUpdate = true;
      const ends: Vector3[] = [];
      for (const course of style.courses) {
        const lifted = course.map((p) => this.lifted(new Vector3(...p), HAIR_OUT));
        for (let i = 1; i < lifted.length; i++) ends.push(lifted[i - 1]!, lifted[i]!);
      }
      const material = new LineBasicMaterial({ color: "#3a2f27", transparent: true, opacity: 0.38 });
      this.hairLines = new LineSegments(new BufferGeometry().setFromPoints(ends), material);
      this.world.add(this.hairLines);
    }
    this.draw();
  }

  /** Draws a sandwich, or draws it anew where it now is. */
  set(name: string, tab: OnSkin[], fill: string, underFill: string, mark: Mark): void {
    this.remove(name);
    if (tab.length < 2) return;
    const group = new Group();
    const edge = new Mesh(this.ribbon(tab, -1.3, this.tabHeight + 1.3, TABS_OUT - 0.25, 1.3), new MeshBasicMaterial({ color: edgeOf(mark, fill), side: DoubleSide }));
    const face = (from: number, to: number, colour: string) =>
      new Mesh(this.ribbon(tab, from, to, TABS_OUT + 0.25, 0), new MeshBasicMaterial({ color: colour, side: DoubleSide }));
    const parted = this.tabHeight * 0.62;
    const faces = [face(0, parted, fill), face(parted, this.tabHeight, underFill)];
    for (const part of [edge, ...faces]) {
      part.userData["site"] = name;
      group.add(part);
    }
    this.world.add(group);
    this.sites.set(name, { group, edge, faces });
    this.draw();
  }

  remove(name: string): void {
    const drawn = this.sites.get(name);
    if (!drawn) return;
    for (const part of [drawn.edge, ...drawn.faces]) part.geometry.dispose();
    drawn.group.removeFromParent();
    this.sites.delete(name);
    this.draw();
  }

  removeAll(): void {
    for (const name of [...this.sites.keys()]) this.remove(name);
  }

  /** A strip along a tab, between two distances down the hair. */
  private ribbon(tab: OnSkin[], from: number, to: number, out: number, beyond: number): BufferGeometry {
    const at = tab.map((p) => new Vector3(...p.at_mm));
    const corners: number[] = [];
    const faces: number[] = [];
    for (let i = 0; i < tab.length; i++) {
      const before = at[Math.max(i - 1, 0)]!;
      const after = at[Math.min(i + 1, tab.length - 1)]!;
      const way = after.clone().sub(before).normalize();
      const outward = new Vector3(...tab[i]!.out);
      const down = way.clone().cross(outward).normalize();
      const end = i === 0 ? -beyond : i === tab.length - 1 ? beyond : 0;
      for (const far of [from, to]) {
        const p = at[i]!.clone().addScaledVector(way, end).addScaledVector(down, far).addScaledVector(outward, out - (far * far) / 190);
        corners.push(p.x, p.y, p.z);
      }
      if (i > 0) {
        const k = 2 * i;
        faces.push(k - 2, k - 1, k, k - 1, k + 1, k);
      }
    }
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array(corners), 3));
    geometry.setIndex(faces);
    return geometry;
  }

  /** The sandwich under a place of the window, if one is in sight there. */
  siteAt(x: number, y: number): string | undefined {
    this.aim(x, y);
    const parts = [...this.sites.values()].flatMap((drawn) => [drawn.edge, ...drawn.faces]);
    const hit = this.caster.intersectObjects(parts, false)[0];
    if (!hit) return undefined;
    const skin = this.caster.intersectObject(this.skin, false)[0];
    return skin && skin.distance < hit.distance - 8 ? undefined : (hit.object.userData["site"] as string);
  }

  /** The place of the skin under a place of the window. */
  skinAt(x: number, y: number): Triple | undefined {
    this.aim(x, y);
    const hit = this.caster.intersectObject(this.skin, false)[0];
    return hit ? [hit.point.x, hit.point.y, hit.point.z] : undefined;
  }

  private aim(x: number, y: number): void {
    const box = this.canvas.getBoundingClientRect();
    const at = new Vector2((2 * (x - box.left)) / box.width - 1, 1 - (2 * (y - box.top)) / box.height);
    this.caster.setFromCamera(at, this.camera);
  }

  /** Where a point of the skin is in the picture, and whether it faces us. */
  seen(p: OnSkin): { x: number; y: number; faces: boolean } {
    const at = new Vector3(...p.at_mm);
    const faces = new Vector3(...p.out).dot(this.camera.position.clone().sub(at).normalize()) > 0.15;
    at.project(this.camera);
    return { x: ((at.x + 1) / 2) * this.canvas.clientWidth, y: ((1 - at.y) / 2) * this.canvas.clientHeight, faces };
  }

  /** Turns by so many degrees. */
  turn(round: number, up: number): void {
    this.halt();
    this.view.round += round;
    this.view.up = Math.max(-35, Math.min(85, this.view.up + up));
    this.draw();
  }

  /** Comes nearer or goes away by a factor. */
  zoom(factor: number): void {
    this.near = Math.max(NEAREST, Math.min(FARTHEST, this.near * factor));
    this.draw();
  }

  /** Turns gently to a view; at once for those who asked for less motion. */
  turnTo(view: View): void {
    this.halt();
    const from = { ...this.view };
    const round = ((((view.round - from.round) % 360) + 540) % 360) - 180;
    if (window.matchMedia("(prefers-reduced-motion: reduce)").matches) {
      this.view = { round: from.round + round, up: view.up };
      this.draw();
      return;
    }
    const began = performance.now();
    const step = (now: number) => {
      const t = Math.min((now - began) / 450, 1);
      const eased = t * t * (3 - 2 * t);
      this.view = { round: from.round + round * eased, up: from.up + (view.up - from.up) * eased };
      this.render();
      this.turning = t < 1 ? requestAnimationFrame(step) : undefined;
    };
    this.turning = requestAnimationFrame(step);
  }

  /** Turns so that a place of the skin faces us. */
  face(p: OnSkin): void {
    const out = new Vector3(...p.out);
    const side = out.x;
    const front = out.dot(this.ahead);
    const up = (Math.asin(Math.max(-1, Math.min(1, out.dot(this.upward)))) * 180) / Math.PI;
    this.turnTo({ round: (Math.atan2(side, -front) * 180) / Math.PI, up: Math.max(-20, Math.min(75, up * 0.8)) });
  }

  private halt(): void {
    if (this.turning !== undefined) cancelAnimationFrame(this.turning);
    this.turning = undefined;
  }

  private fit(): void {
    const box = this.canvas.parentElement ?? this.canvas;
    const { clientWidth: width, clientHeight: height } = box;
    if (width === 0 || height === 0) return;
    this.renderer.setSize(width, height);
    this.camera.aspect = width / height;
    // The whole head is in sight however narrow the picture is.
    this.camera.fov = width < height ? (2 * Math.atan(Math.tan((13 * Math.PI) / 180) * (height / width)) * 180) / Math.PI : 26;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  /** Draws before the next frame, once however often it is asked. */
  draw(): void {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.render();
    });
  }

  private render(): void {
    const round = (this.view.round * Math.PI) / 180;
    const up = (this.view.up * Math.PI) / 180;
    const level = new Vector3(Math.sin(round), 0, 0).addScaledVector(this.ahead, -Math.cos(round));
    const way = level.multiplyScalar(Math.cos(up)).addScaledVector(this.upward, Math.sin(up));
    this.camera.position.copy(this.middle).addScaledVector(way, this.near);
    this.camera.up.copy(this.upward);
    this.camera.lookAt(this.middle);
    this.renderer.render(this.world, this.camera);
    this.onDrawn();
  }
}
