// Marking a photo: rings on the corners of chart and hair, moved by finger, mouse
// or keyboard, with a magnifier, step by step. What is typed below the photo is
// the truth; the rings only show and change it.

type Step = "chart" | "hair" | "swatch";

/** The most swatches beside her ends in one photo, as the program takes them. */
const MOST_BESIDE = 3;

/** One mark: the inputs that hold it, its line over the photo, its rings. */
interface Mark {
  step: Step;
  box: boolean;
  fieldset: HTMLElement;
  x: HTMLInputElement[];
  y: HTMLInputElement[];
  names: string[];
  line: SVGPolygonElement;
  rings: HTMLButtonElement[];
}

/** A move that can be taken back. */
interface Move {
  mark: Mark;
  at: number;
  x: number;
  y: number;
}

/** One press of an arrow key moves by this share of the photo's longer side. */
const KEY_STEP = 1 / 1000;
/** How much the magnifier magnifies, against the photo as shown. */
const ZOOM = 3;

function value(input: HTMLInputElement | undefined): number {
  const number = Number((input?.value ?? "").trim().replace(",", "."));
  return Number.isFinite(number) ? number : 0;
}

class Marking {
  private readonly stage: HTMLElement;
  private readonly image: HTMLImageElement;
  private readonly lines: SVGSVGElement;
  private readonly loupe: HTMLCanvasElement;
  private readonly heard: HTMLElement;
  private readonly undoButton: HTMLButtonElement;
  private readonly width: number;
  private readonly height: number;
  private marks: Mark[] = [];
  private moves: Move[] = [];
  private step: Step = "chart";
  private speaking = 0;
  private asking = false;

  constructor(private readonly form: HTMLFormElement) {
    this.width = Number(form.dataset["width"]);
    this.height = Number(form.dataset["height"]);
    this.stage = this.part(".photo-stage");
    this.image = this.part("img");
    this.lines = this.part<SVGSVGElement>("svg.marks");
    this.loupe = this.part<HTMLCanvasElement>("canvas.loupe");
    this.heard = this.part("[data-heard]");
    this.undoButton = this.part<HTMLButtonElement>("[data-undo]");
    this.lines.querySelectorAll(".swatch-box").forEach((old) => old.remove());
    for (const fieldset of form.querySelectorAll<HTMLElement>("[data-mark]")) this.take(fieldset);
    this.undoButton.addEventListener("click", () => this.undo());
    form.addEventListener("keydown", (event) => {
      const typing = event.target instanceof HTMLInputElement;
      if ((event.ctrlKey || event.metaKey) && event.key === "z" && !typing) {
        event.preventDefault();
        this.undo();
      }
    });
    this.listenToSteps();
    this.listenToSwatches();
    this.listenToTaps();
    this.part("[data-steps]").hidden = false;
    this.part<HTMLDetailsElement>("[data-places]").open = false;
    this.show("chart");
    // Where the names fit depends on the photo's size on the screen and on the type.
    const again = () => this.marks.forEach((mark) => this.draw(mark));
    window.addEventListener("resize", again);
    this.image.addEventListener("load", again);
    void document.fonts.ready.then(again);
  }

  private part<T extends Element = HTMLElement>(selector: string): T {
    const found = this.form.querySelector<T>(selector);
    if (!found) throw new Error(`the page has no ${selector}`);
    return found;
  }

  /** Makes line and rings for the inputs of one mark. */
  private take(fieldset: HTMLElement): Mark {
    const step = fieldset.dataset["mark"] as Step;
    const all = [...fieldset.querySelectorAll<HTMLInputElement>("input[name$='.x'], input[name$='.y']")];
    const x = all.filter((input) => input.name.endsWith(".x"));
    const y = all.filter((input) => input.name.endsWith(".y"));
    const box = step === "swatch";
    const known = box ? null : this.lines.querySelector<SVGPolygonElement>(`polygon.${step}`);
    const line = known ?? document.createElementNS("http://www.w3.org/2000/svg", "polygon");
    if (!known) {
      line.setAttribute("class", "swatch-box");
      this.lines.append(line);
    }
    const mark: Mark = { step, box, fieldset, x, y, names: x.map((input) => input.dataset["corner"] ?? ""), line, rings: [] };
    mark.rings = x.map((_, at) => this.ring(mark, at));
    fieldset.addEventListener("input", () => this.draw(mark));
    this.marks.push(mark);
    this.draw(mark);
    return mark;
  }

  private ring(mark: Mark, at: number): HTMLButtonElement {
    const ring = document.createElement("button");
    ring.type = "button";
    ring.className = `ring-handle ${mark.step}`;
    ring.setAttribute("aria-roledescription", "movable corner");
    const says = document.createElement("span");
    says.setAttribute("aria-hidden", "true");
    ring.append(says);
    ring.addEventListener("pointerdown", (event) => this.drag(event, mark, at));
    ring.addEventListener("keydown", (event) => this.keyed(event, mark, at));
    ring.addEventListener("focus", () => {
      if (ring.matches(":focus-visible")) this.magnify(mark, at);
    });
    ring.addEventListener("blur", () => this.hideLoupe());
    this.stage.append(ring);
    return ring;
  }

  private drag(event: PointerEvent, mark: Mark, at: number): void {
    const ring = mark.rings[at];
    if (!ring || event.button !== 0) return;
    event.preventDefault();
    ring.focus({ preventScroll: true });
    ring.setPointerCapture(event.pointerId);
    const shown = this.image.getBoundingClientRect();
    const scale = this.width / shown.width;
    const from = { x: event.clientX, y: event.clientY };
    const begun = { x: value(mark.x[at]), y: value(mark.y[at]) };
    let moved = false;
    const move = (now: PointerEvent) => {
      if (!moved) this.remember(mark, at);
      moved = true;
      this.place(mark, at, begun.x + (now.clientX - from.x) * scale, begun.y + (now.clientY - from.y) * scale);
    };
    const end = () => {
      ring.removeEventListener("pointermove", move);
      ring.removeEventListener("pointerup", end);
      ring.removeEventListener("pointercancel", end);
      ring.classList.remove("held");
      if (event.pointerType !== "mouse") this.hideLoupe();
    };
    ring.classList.add("held");
    ring.addEventListener("pointermove", move);
    ring.addEventListener("pointerup", end);
    ring.addEventListener("pointercancel", end);
    this.magnify(mark, at);
  }

  private keyed(event: KeyboardEvent, mark: Mark, at: number): void {
    const ways: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[event.key];
    if (!way || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const far = Math.max(this.width, this.height) * KEY_STEP * (event.shiftKey ? 10 : 1);
    if (!event.repeat) this.remember(mark, at);
    this.place(mark, at, value(mark.x[at]) + way[0] * far, value(mark.y[at]) + way[1] * far);
    this.speak(mark, at);
  }

  /** Says where a ring is, once it has come to rest. */
  private speak(mark: Mark, at: number): void {
    window.clearTimeout(this.speaking);
    this.speaking = window.setTimeout(() => {
      this.heard.textContent = this.label(mark, at);
    }, 400);
  }

  private label(mark: Mark, at: number): string {
    const place = `${Math.round(value(mark.x[at]))} across, ${Math.round(value(mark.y[at]))} down`;
    const code = mark.fieldset.querySelector<HTMLInputElement>("[name='swatch.code']")?.value.trim();
    // What stands beside the ring comes first in its name.
    const which = mark.box ? `${code ? `${code}, swatch` : "Swatch"} ${this.numberOf(mark)}, ` : "";
    return `${which}${mark.names[at] ?? ""}: ${place}`;
  }

  private place(mark: Mark, at: number, x: number, y: number): void {
    const [across, down] = [mark.x[at], mark.y[at]];
    if (!across || !down) return;
    const rounded = (number: number, most: number) => String(Math.round(Math.min(Math.max(number, 0), most) * 10) / 10);
    across.value = rounded(x, this.width);
    down.value = rounded(y, this.height);
    this.draw(mark);
    this.magnify(mark, at);
  }

  private remember(mark: Mark, at: number): void {
    this.moves.push({ mark, at, x: value(mark.x[at]), y: value(mark.y[at]) });
    this.undoButton.disabled = false;
  }

  private undo(): void {
    const last = this.moves.pop();
    this.undoButton.disabled = this.moves.length === 0;
    if (!last || !this.marks.includes(last.mark)) return;
    this.show(last.mark.step);
    this.place(last.mark, last.at, last.x, last.y);
    last.mark.rings[last.at]?.focus({ preventScroll: true });
    this.speak(last.mark, last.at);
  }

  private draw(mark: Mark): void {
    const corners = mark.x.map((input, at): [number, number] => [value(input), value(mark.y[at])]);
    let outline = corners;
    if (mark.box) {
      const [[left, top], [right, bottom]] = corners as [[number, number], [number, number]];
      outline = [[left, top], [right, top], [right, bottom], [left, bottom]];
    }
    const numbered = mark.fieldset.querySelector<HTMLElement>("[data-number]");
    if (numbered) numbered.textContent = String(this.numberOf(mark));
    mark.line.setAttribute("points", outline.map((corner) => corner.join(",")).join(" "));
    const middle = [0, 1].map((k) => corners.reduce((sum, corner) => sum + (corner[k] ?? 0), 0) / corners.length);
    mark.rings.forEach((ring, at) => {
      const [x, y] = corners[at] ?? [0, 0];
      ring.style.left = `${(100 * x) / this.width}%`;
      ring.style.top = `${(100 * y) / this.height}%`;
      ring.setAttribute("aria-label", this.label(mark, at));
      this.name(mark, at, ring, x < (middle[0] ?? 0), y > (middle[1] ?? 0));
    });
  }

  /** Writes a ring's name outside the outline, but inside the photo. */
  private name(mark: Mark, at: number, ring: HTMLButtonElement, leftwards: boolean, below: boolean): void {
    const says = ring.firstElementChild as HTMLElement;
    const code = mark.fieldset.querySelector<HTMLInputElement>("[name='swatch.code']")?.value.trim();
    says.textContent = mark.box ? (at === 0 ? code || String(this.numberOf(mark)) : "") : (mark.names[at] ?? "");
    const room = this.stage.clientWidth;
    const [wide, half] = [says.offsetWidth, ring.offsetWidth / 2];
    const middle = (value(mark.x[at]) / this.width) * room;
    const wished = leftwards ? middle - wide - 4 : middle + 4;
    says.style.left = `${Math.min(Math.max(wished, 2), Math.max(room - wide - 2, 2)) - middle + half}px`;
    const y = value(mark.y[at]) / this.height;
    ring.classList.toggle("says-below", below ? y < 0.93 : y < 0.07);
  }

  /** The place of a box among the swatches, from one. */
  private numberOf(mark: Mark): number {
    return this.marks.filter((other) => other.box).indexOf(mark) + 1;
  }

  private magnify(mark: Mark, at: number): void {
    const pen = this.loupe.getContext("2d");
    const shown = this.image.getBoundingClientRect();
    if (!pen || shown.width === 0 || !this.image.complete) return;
    const [x, y] = [value(mark.x[at]), value(mark.y[at])];
    this.loupe.hidden = false;
    const size = this.loupe.width;
    const span = (this.loupe.clientWidth * this.width) / (shown.width * ZOOM);
    pen.fillStyle = "#777";
    pen.fillRect(0, 0, size, size);
    const natural = this.image.naturalWidth / this.width;
    pen.drawImage(this.image, (x - span / 2) * natural, (y - span / 2) * natural, span * natural, span * natural, 0, 0, size, size);
    for (const [width, colour] of [[6, "#000"], [2, "#fff"]] as const) {
      pen.lineWidth = width;
      pen.strokeStyle = colour;
      pen.beginPath();
      pen.moveTo(size / 2, size * 0.36);
      pen.lineTo(size / 2, size * 0.64);
      pen.moveTo(size * 0.36, size / 2);
      pen.lineTo(size * 0.64, size / 2);
      pen.stroke();
    }
    this.loupe.classList.toggle("at-right", x < this.width / 2);
  }

  private hideLoupe(): void {
    this.loupe.hidden = true;
  }

  /** The steps of this photo, in their order. */
  private steps(): Step[] {
    const buttons = [...this.form.querySelectorAll<HTMLButtonElement>("[data-step]")];
    return buttons.filter((button) => !button.hidden).map((button) => button.dataset["step"] as Step);
  }

  private show(step: Step): void {
    this.step = step;
    this.hideLoupe();
    for (const button of this.form.querySelectorAll<HTMLButtonElement>("[data-step]")) {
      button.setAttribute("aria-pressed", String(button.dataset["step"] === step));
    }
    for (const says of this.form.querySelectorAll<HTMLElement>("[data-says]")) says.hidden = says.dataset["says"] !== step;
    for (const mark of this.marks) {
      const active = mark.step === step;
      mark.line.classList.toggle("active", active);
      for (const ring of mark.rings) ring.hidden = !active;
      // A hidden name has no width; only now it can be laid.
      if (active) this.draw(mark);
    }
    const steps = this.steps();
    const next = steps[steps.indexOf(step) + 1];
    const ofRing = !steps.includes("hair");
    const nextButton = this.part<HTMLButtonElement>("[data-next]");
    nextButton.hidden = !next;
    const words = { chart: "the chart", hair: "her ends", swatch: "the swatches" };
    nextButton.textContent = next ? `Next: ${words[next]}` : "";
    this.part("[data-read]").hidden = next !== undefined;
    this.part("[data-swatches]").hidden = step !== "swatch";
    const hasSwatch = this.marks.some((mark) => mark.box);
    this.part("[data-add-swatch]").hidden = ofRing ? step !== "swatch" : step === "chart" || (step === "hair" && hasSwatch) || this.marks.filter((mark) => mark.box).length >= MOST_BESIDE;
  }

  private listenToSteps(): void {
    for (const button of this.form.querySelectorAll<HTMLButtonElement>("[data-step]")) {
      button.addEventListener("click", () => this.show(button.dataset["step"] as Step));
    }
    this.part("[data-next]").addEventListener("click", () => {
      const steps = this.steps();
      const next = steps[steps.indexOf(this.step) + 1];
      if (!next) return;
      this.show(next);
      this.marks.find((mark) => mark.step === next)?.rings[0]?.focus({ preventScroll: true });
      this.part("[data-steps]").scrollIntoView();
    });
  }

  private listenToSwatches(): void {
    this.part("[data-add-swatch]").addEventListener("click", () => this.addSwatch());
    this.form.addEventListener("click", (event) => {
      const button = (event.target as Element).closest("[data-remove-mark]");
      const mark = this.marks.find((other) => other.box && button && other.fieldset.contains(button));
      if (mark) this.removeSwatch(mark);
    });
  }

  /** With two charts in the photo the one that is tapped counts. */
  private listenToTaps(): void {
    this.stage.addEventListener("click", (event) => {
      const onRing = (event.target as Element).closest(".ring-handle");
      if (this.step !== "chart" || onRing || this.asking) return;
      const shown = this.image.getBoundingClientRect();
      const x = ((event.clientX - shown.left) / shown.width) * this.width;
      const y = ((event.clientY - shown.top) / shown.height) * this.height;
      if (x >= 0 && y >= 0 && x <= this.width && y <= this.height) void this.askThere(x, y);
    });
  }

  private async askThere(x: number, y: number): Promise<void> {
    const says = this.part("[data-status]");
    this.asking = true;
    says.textContent = "Looking there…";
    try {
      const answer = await fetch(`${this.form.getAttribute("action")}/chart?${new URLSearchParams({ x: x.toFixed(1), y: y.toFixed(1) })}`);
      const there = (await answer.json()) as { corners: [number, number][] | null; says: string };
      says.textContent = there.says;
      const mark = this.marks.find((other) => other.step === "chart");
      if (mark && there.corners) {
        there.corners.forEach(([to, down], at) => {
          this.remember(mark, at);
          this.place(mark, at, to, down);
        });
        this.hideLoupe();
      }
    } catch {
      says.textContent = "The program does not answer. Drag the rings onto the corners of the chart.";
    } finally {
      this.asking = false;
    }
  }

  /** A new box: the first where there is room, the next beside the last. */
  private addSwatch(): void {
    const last = this.marks.filter((mark) => mark.box).at(-1);
    const pattern = this.part<HTMLTemplateElement>("[data-blank-swatch]");
    const line = pattern.content.cloneNode(true) as DocumentFragment;
    const fieldset = line.querySelector<HTMLElement>("[data-mark]");
    if (!fieldset) return;
    this.part("[data-swatches]").append(line);
    const mark = this.take(fieldset);
    if (last) {
      const [x0, x1] = [value(last.x[0]), value(last.x[1])];
      const aside = Math.abs(x1 - x0) * 1.2;
      const fits = Math.max(x0, x1) + aside <= this.width;
      [0, 1].forEach((at) => {
        const x = value(last.x[at]) + (fits ? aside : 0);
        const y = value(last.y[at]) + (fits ? 0 : Math.abs(value(last.y[1]) - value(last.y[0])) * 1.2);
        this.place(mark, at, x, y);
      });
    }
    const step = this.form.querySelector<HTMLElement>("[data-step=swatch]");
    if (step) step.hidden = false;
    this.show("swatch");
    fieldset.querySelector<HTMLInputElement>("[name='swatch.code']")?.focus({ preventScroll: true });
  }

  private removeSwatch(mark: Mark): void {
    mark.fieldset.remove();
    mark.line.remove();
    mark.rings.forEach((ring) => ring.remove());
    this.marks = this.marks.filter((other) => other !== mark);
    this.marks.forEach((other) => this.draw(other));
    const step = this.form.querySelector<HTMLElement>("[data-step=swatch]");
    const ofRing = !this.form.querySelector("[data-step=hair]");
    if (step && !ofRing && !this.marks.some((other) => other.box)) {
      step.hidden = true;
      this.show("hair");
    } else {
      this.show(this.step);
    }
    this.part<HTMLElement>("[data-add-swatch]").focus({ preventScroll: true });
  }
}

export function markPhotos(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("[data-marking]")) new Marking(form);
}
