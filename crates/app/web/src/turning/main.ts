// The turning head of a plan: switch styles, choose a site, ask why it is
// there, move it, and have the answer at once.
import { Card } from "./card";
import { FlatMap } from "./flat";
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
    if (held && !held.moved && event.type === "pointerup") {
      const point = held.site === undefined ? stage.skinAt(event.clientX, event.clientY) : undefined;
      if (point) void layout.askWhy({ point });
      else layout.choose(held.site);
    }
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
      Escape: () => layout.closeAll(),
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

/** Map or turning head: both show the same sites. The head is set up when it is first asked for. */
function switchPictures(frame: HTMLElement, flat: HTMLElement | null, card: Card, turnUp: () => boolean): (turning: boolean) => void {
  const box = frame.querySelector<HTMLElement>("[data-pictures]")!;
  const map = button("Map", true);
  const solid = button("Turning head", false);
  let up = false;
  const show = (turning: boolean) => {
    frame.classList.toggle("flat", !turning);
    if (flat) flat.hidden = turning;
    if (turning && !up) up = turnUp();
    solid.setAttribute("aria-pressed", String(turning));
    map.setAttribute("aria-pressed", String(!turning));
  };
  map.addEventListener("click", () => show(false));
  solid.addEventListener("click", () => show(true));
  const more = button("Hair is down: not enough?");
  more.classList.add("more-hair");
  more.addEventListener("click", () => card.more());
  // Without three dimensions the map serves; nothing else is lost.
  if (document.createElement("canvas").getContext("webgl2")) box.append(map, solid);
  box.append(more);
  show(false);
  return show;
}

async function begin(frame: HTMLElement): Promise<void> {
  const part = <T extends HTMLElement>(name: string) => frame.querySelector<T>(`[data-${name}]`)!;
  const address = frame.dataset["plan"] ?? "";
  const answer = document.querySelector<HTMLElement>(".answer");
  if (!answer) return;
  let scene: Scene;
  try {
    scene = await read<Scene>(`${address}/head`);
  } catch {
    return;
  }
  const layout = new Layout(address, scene);
  const drawing = document.querySelector<HTMLElement>(".head-map");
  const panels = document.querySelector<HTMLElement>(".head-map.panels");
  const map = panels
    ? new FlatMap(panels, scene.sites.map(({ site }) => site), (place) => void layout.askWhy(place), (site) => layout.choose(site))
    : undefined;
  const card = new Card(answer, scene, layout, () => map?.mark(layout.tapped?.place));
  if (map) layout.addPicture(map);
  frame.hidden = false;
  const show = switchPictures(frame, drawing, card, () => {
    try {
      const stage = new Stage(part<HTMLCanvasElement>("canvas"), scene);
      layout.addPicture(stage);
      views(part("views"), stage);
      styles(part("styles"), part("legend"), address, scene, stage, card);
      hands(stage, layout);
      label(part("label"), stage, layout);
      return true;
    } catch {
      card.says("The head cannot be drawn in three dimensions here. The map shows the same sites.");
      return false;
    }
  });
  const form = document.querySelector<HTMLFormElement>("form.what-if");
  if (form) {
    form.hidden = false;
    new WhatIf(form, address, layout);
  }
  layout.onOther = () => show(true);
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
