// Ears, so that everybody sees at once which way the head looks. They are
// drawn, not measured; a face is not drawn at all.
import { BufferAttribute, BufferGeometry, DoubleSide, Group, Mesh, ShaderMaterial, Color, Vector3 } from "three";
import type { Triple } from "./shapes";

/** The rings of an ear from its root outward: how wide, how far out, how far back, mm. */
const RINGS: [number, number, number][] = [
  [0.84, 0, 0],
  [0.94, 4, -2],
  [1.0, 8, -4],
  [0.94, 10, -5],
  [0.74, 7.5, -3],
  [0.5, 5.5, -1],
  [0.2, 5, 0],
  [0, 5.5, 0],
];

const EAR_SHADER = {
  vertexShader: `varying vec3 vOut; void main() { vOut = normalize(normalMatrix * normal); gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }`,
  fragmentShader: `uniform vec3 skin; varying vec3 vOut;
    void main() { vec3 n = gl_FrontFacing ? vOut : -vOut; float lit = 0.60 + 0.36 * max(dot(normalize(n), normalize(vec3(-0.35, 0.55, 0.75))), 0.0);
      gl_FragColor = vec4(skin * lit, 1.0);
      #include <colorspace_fragment>
    }`,
};

/** An ear on its outline. */
export function ear(outline: Triple[], middle: Vector3, ahead: Vector3, upward: Vector3): Group {
  const group = new Group();
  const ring = outline.map((p) => new Vector3(...p));
  if (ring.length < 3) return group;
  const centre = ring.reduce((sum, p) => sum.add(p), new Vector3()).multiplyScalar(1 / ring.length);
  const out = centre.clone().sub(middle);
  out.addScaledVector(upward, -out.dot(upward)).normalize();
  const corners: number[] = [];
  const faces: number[] = [];
  RINGS.forEach(([wide, far, back], r) => {
    for (const p of ring) {
      const q = p.clone().sub(centre);
      // The rim stands off most behind and above, hardly at all in front.
      const behind = Math.max(0.45, 0.55 - (0.5 * q.dot(ahead)) / 12 + (0.25 * q.dot(upward)) / 25);
      const at = centre.clone().addScaledVector(q, wide).addScaledVector(out, far * Math.min(behind, 1.15)).addScaledVector(ahead, back * Math.min(behind, 1));
      corners.push(at.x, at.y, at.z);
    }
    if (r === 0) return;
    const count = ring.length;
    for (let i = 0; i < count; i++) {
      const [a, b] = [(r - 1) * count + i, (r - 1) * count + ((i + 1) % count)];
      faces.push(a, b, a + count, b, b + count, a + count);
    }
  });
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(corners), 3));
  geometry.setIndex(faces);
  geometry.computeVertexNormals();
  group.add(new Mesh(geometry, new ShaderMaterial({ ...EAR_SHADER, side: DoubleSide, uniforms: { skin: { value: new Color("#e0cebe") } } })));
  return group;
}
