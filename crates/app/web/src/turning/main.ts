// The turning head of a plan: switch styles, choose a site, ask why it is
// there, move it, and have the answer at once.
import { Card } from "./card";
import { Layout } from "./layout";
import { Stage, VIEWS } from "./stage";
import type { Scene, StyleDrawn } from "./shapes";
import { WhatIf } from "./whatif";

/** Turning by a drag of one picture's width, degrees. */
const ROUND_PER_WIDTH = 220;
const UP_PER_HEIGHT = 120;
/** How far a finger may tremble before a tap becomes a drag, px. */
const TREMBLE = 7;

function button(says: string, pressed?: boolean): HTMLButtonElement {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "button";
  made.textContent = says;
  if (pressed !== undefined) made.setAttribute("aria-pressed", String(pressed));
  return made;
}

async function read<T>(address: string): Promise<T> {
  const answer = await fetch(address, { headers: { accept: "application/json" } });
  if (!answer.ok) throw new Error(`${answer.status}`);
  return (await answer.json()) as T;
}

/** The buttons that turn the head. */
function views(box: HTMLElement, stage: Stage): void {
  for (const [name, view] of Object.entries(VIEWS)) {
    const turn = button(name);
    turn.addEventListener("click", () => stage.turnTo(view));
    box.append(turn);
  }
}

/** The buttons that change how her hair is worn. */
function styles(box: HTMLElement, legend: HTMLElement, address: string, scene: Scene, stage: Stage, card: Card): void {
  const known = new Map<string, Promise<StyleDrawn>>();
  const choices: { made: HTMLButtonElement; style: string }[] = [];
  const wear = async (style: string) => {
    for (const choice of choices) choice.made.setAttribute("aria-pressed", String(choice.style === style));
    legend.hidden = style === "";
    card.wear(style);
    if (style === "") {
      stage.wear(undefined);
      return;
    }
    const asked = known.get(style) ?? read<StyleDrawn>(`${address}/head/${style}`);
    known.set(style, asked);
    try {
      const drawn = await asked;
      const still = choices.some((choice) => choice.style === style && choice.made.getAttribute("aria-pressed") === "true");
      if (still) stage.wear(drawn);
    } catch {
      known.delete(style);
      card.says("This style could not be read. Try again.");
    }
  };
  for (const { style, name } of [{ style: "", name: "Places only" }, ...scene.styles]) {
    const made = button(name, style === "");
    made.addEventListener("click", () => void wear(style));
    choices.push({ made, style });
    box.append(made);
  }
}

/** Fingers and mouse: turn, come nearer, choose and drag sandwiches. */
function hands(stage: Stage, layout: Layout): void {
  const { canvas } = stage;
  const fingers = new Map<number, { x: number; y: number }>();
  let held: { site: string | undefined; x: number; y: number; moved: boolean } | undefined;

  const spread = () => {
    const [a, b] = [...fingers.values()];
    return a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    held = fingers.size === 1 ? { site: stage.siteAt(event.clientX, event.clientY), x: event.clientX, y: event.clientY, moved: false } : undefined;
  });
  canvas.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) {
      canvas.classList.toggle("over-site", stage.siteAt(event.clientX, event.clientY) !== undefined);
      return;
    }
    const wide = spread();
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (fingers.size === 2) {
      if (wide > 0) stage.zoom(wide / Math.max(spread(), 1));
      return;
    }
    if (!held) return;
    if (!held.moved && Math.hypot(event.clientX - held.x, event.clientY - held.y) < TREMBLE) return;
    held.moved = true;
    if (held.site !== undefined && held.site === layout.chosen) {
      const point = stage.skinAt(event.clientX, event.clientY);
      if (point) layout.drag(held.site, point);
    } else {
      const round = (-(event.clientX - before.x) / canvas.clientWidth) * ROUND_PER_WIDTH;
      stage.turn(round, ((event.clientY - before.y) / canvas.clientHeight) * UP_PER_HEIGHT);
    }
  });
  const lift = (event: PointerEvent) => {
    fingers.delete(event.pointerId);
    if (held && !held.moved && event.type === "pointerup") layout.choose(held.site);
    held = undefined;
  };
  canvas.addEventListener("pointerup", lift);
  canvas.addEventListener("pointercancel", lift);
  canvas.addEventListener(
    "wheel",
    (event) => {
      if (!event.ctrlKey && document.activeElement !== canvas) return;
      event.preventDefault();
      stage.zoom(Math.exp(event.deltaY / 600));
    },
    { passive: false },
  );
  canvas.addEventListener("keydown", (event) => {
    const turns: Record<string, () => void> = {
      ArrowLeft: () => stage.turn(-12, 0),
      ArrowRight: () => stage.turn(12, 0),
      ArrowUp: () => stage.turn(0, 8),
      ArrowDown: () => stage.turn(0, -8),
      "+": () => stage.zoom(0.88),
      "-": () => stage.zoom(1.14),
      Escape: () => layout.choose(undefined),
    };
    const turn = turns[event.key];
    if (!turn) return;
    event.preventDefault();
    turn();
  });
}

/** The name of the chosen sandwich, over it. */
function label(tag: HTMLElement, stage: Stage, layout: Layout): void {
  stage.onDrawn = () => {
    const tab = layout.chosen === undefined ? undefined : layout.tabOf(layout.chosen);
    const middle = tab?.[Math.floor(tab.length / 2)];
    const place = middle ? stage.seen(middle) : undefined;
    tag.hidden = !place?.faces;
    if (!place) return;
    tag.textContent = layout.chosen ?? "";
    tag.style.transform = `translate(${Math.round(place.x)}px, ${Math.round(place.y)}px) translate(-50%, -165%)`;
  };
}

/** Flat map or turning head: both show the same sites. */
function switchPictures(frame: HTMLElement, flat: HTMLElement | null): void {
  const box = frame.querySelector<HTMLElement>("[data-pictures]");
  if (!box || !flat) return;
  const solid = button("Turning head", true);
  const map = button("Flat map", false);
  const show = (turning: boolean) => {
    frame.classList.toggle("flat", !turning);
    flat.hidden = turning;
    solid.setAttribute("aria-pressed", String(turning));
    map.setAttribute("aria-pressed", String(!turning));
  };
  solid.addEventListener("click", () => show(true));
  map.addEventListener("click", () => show(false));
  box.append(solid, map);
  show(true);
}

async function begin(frame: HTMLElement): Promise<void> {
  const part = <T extends HTMLElement>(name: string) => frame.querySelector<T>(`[data-${name}]`)!;
  const address = frame.dataset["plan"] ?? "";
  const canvas = part<HTMLCanvasElement>("canvas");
  // Without three dimensions the flat map serves; nothing else is lost.
  if (!document.createElement("canvas").getContext("webgl2")) return;
  let scene: Scene;
  let stage: Stage;
  try {
    scene = await read<Scene>(`${address}/head`);
    frame.hidden = false;
    stage = new Stage(canvas, scene);
  } catch {
    frame.hidden = true;
    return;
  }
  const layout = new Layout(address, scene, stage);
  const card = new Card(part("card"), part("changes"), scene, layout);
  views(part("views"), stage);
  styles(part("styles"), part("legend"), address, scene, stage, card);
  hands(stage, layout);
  label(part("label"), stage, layout);
  const form = document.querySelector<HTMLFormElement>("form.what-if");
  if (form) {
    form.hidden = false;
    new WhatIf(form, address, layout);
  }
  switchPictures(frame, document.querySelector<HTMLElement>(".head-map"));
  for (const line of document.querySelectorAll<HTMLDetailsElement>(".rows details[data-site]")) {
    line.addEventListener("toggle", () => {
      if (line.open) layout.choose(line.dataset["site"], true);
    });
  }
}

document.addEventListener("DOMContentLoaded", () => {
  const frame = document.querySelector<HTMLElement>(".turning[data-plan]");
  if (frame) void begin(frame);
});
