// What there is to say of the chosen sandwich, and of the changes so far.
import type { Layout, Standing } from "./layout";
import { type Fault, type OtherLayout, type Scene, sentence } from "./shapes";

const SVG = "http://www.w3.org/2000/svg";

type Child = Node | string;

function make<K extends keyof HTMLElementTagNameMap>(name: K, kind: string, ...children: Child[]): HTMLElementTagNameMap[K] {
  const made = document.createElement(name);
  if (kind) made.className = kind;
  made.append(...children);
  return made;
}

function press(says: string, act: () => void, spoken?: string): HTMLButtonElement {
  const made = make("button", "button", says);
  made.type = "button";
  if (spoken) made.setAttribute("aria-label", spoken);
  made.addEventListener("click", act);
  return made;
}

const mm = (value: number, digits = 0) => `${value.toFixed(digits)} mm`;
const percent = (share: number) => `${(100 * share).toFixed(share > 0.995 ? 1 : 0)} %`;

/** Where a sandwich is, in words. */
function place(one: Standing): string {
  const along = Math.abs(one.at.along_mm);
  const side = along < 0.5 ? "in the middle" : `${mm(along)} to the client’s ${one.at.along_mm < 0 ? "left" : "right"}`;
  return `${side}, parting ${mm(one.at.above_nape_mm)} above the nape`;
}

/** How well the bond is hidden in a style, against what it must be. */
function bar(name: string, share: number, limit: number, worn: boolean): HTMLElement {
  const line = make("div", `cover${worn ? " worn" : ""}${share < limit ? " short" : ""}`);
  const drawing = document.createElementNS(SVG, "svg");
  drawing.setAttribute("viewBox", "0 0 100 10");
  drawing.setAttribute("preserveAspectRatio", "none");
  drawing.setAttribute("aria-hidden", "true");
  const block = (kind: string, x: number, width: number) => {
    const rect = document.createElementNS(SVG, "rect");
    for (const [key, value] of Object.entries({ class: kind, x, width, height: 10 })) rect.setAttribute(key, String(value));
    drawing.append(rect);
  };
  block("ground", 0, 100);
  block("share", 0, 100 * share);
  block("least", 100 * limit - 0.4, 0.8);
  line.append(make("span", "", name), drawing, make("span", "share", percent(share)));
  return line;
}

function faultList(faults: Fault[]): HTMLElement {
  const list = make("ul", "");
  for (const fault of faults) list.append(make("li", "", make("strong", "", sentence(fault.what)), " ", make("span", "", fault.cure)));
  return list;
}

export class Card {
  private worn = "";
  private busy = false;

  constructor(
    private readonly box: HTMLElement,
    private readonly changes: HTMLElement,
    private readonly scene: Scene,
    private readonly layout: Layout,
  ) {
    layout.onChange = () => this.draw();
    this.draw();
  }

  /** Notes which style the head shows. */
  wear(style: string): void {
    this.worn = style;
    this.draw();
  }

  /** Says a sentence in place of a sandwich. */
  says(text: string): void {
    this.box.replaceChildren(make("p", "quiet", text));
  }

  private draw(): void {
    const held = document.activeElement instanceof HTMLElement ? document.activeElement.dataset["hold"] : undefined;
    const name = this.layout.chosen;
    const one = name === undefined ? undefined : this.layout.standing.get(name);
    if (this.layout.looking) this.box.replaceChildren(...this.other(this.layout.looking));
    else if (this.layout.onlyLooking) this.says("The head shows the sandwiches of “What if”. Put it back to ask about those of the plan.");
    else if (name === undefined || !one) {
      this.says("Tap a sandwich to see how well it is hidden, what it carries and why it is there. Tap it, then drag it, to try another place.");
      const others = this.scene.others.map((other, i) => press(`Look at another layout${this.scene.others.length > 1 ? ` (${i + 1})` : ""}`, () => this.layout.showOther(other)));
      if (others.length > 0) this.box.append(make("div", "moves", ...others));
    }
    else this.box.replaceChildren(...this.sandwich(name, one));
    this.changes.replaceChildren(...this.footer());
    if (held) document.querySelector<HTMLElement>(`[data-hold="${held}"]`)?.focus();
  }

  /** Another layout, and whether to take it. */
  private other(other: OtherLayout): Node[] {
    const take = press("Take this layout", () => void this.keep(0));
    take.classList.add("main");
    return [
      make("h3", "", "Another layout"),
      make("p", "quiet", `${other.sites.length} sandwiches; ${other.points_more.toFixed(1)} points more than the plan’s, and fewer are better. It keeps every limit.`),
      make("div", "moves", take, press("Back to the plan", () => this.layout.showAll(undefined))),
    ];
  }

  private sandwich(name: string, one: Standing): Node[] {
    const parts: Node[] = [make("h3", "", name, one.out ? make("span", "tag", "taken out") : one.moved ? make("span", "tag", "moved") : "")];
    if (one.out) {
      parts.push(make("p", "quiet", "Nothing is set here."), make("div", "moves", press("Put back", () => this.layout.putBack(name))));
      return parts;
    }
    parts.push(make("p", "where", place(one)));
    if (one.faults.length > 0) {
      const notice = make("div", "notice stop", make("h4", "", "Not here"), faultList(one.faults));
      notice.setAttribute("role", "status");
      parts.push(notice);
    } else if (one.moved) {
      const notice = make("p", "notice good", "It may stand here.");
      notice.setAttribute("role", "status");
      parts.push(notice);
    }
    const site = one.site;
    if (site) {
      const covers = make("div", "covers", make("p", "quiet small", "Hidden at its worst point"));
      for (const { style, name: said } of this.scene.styles) {
        const share = site.coverage[style];
        if (share !== undefined) covers.append(bar(said, share, this.scene.hidden_from, style === this.worn));
      }
      const facts = make("dl", "numbers");
      const fact = (says: string, value: string) => facts.append(make("div", "", make("dt", "", says), make("dd", "", value)));
      fact("Slice", `${mm(site.slice_mm, 1)} thick`);
      fact("Each hair carries", `${site.load_mg_per_hair.toFixed(1)} mg`);
      fact("Pull, 100 at the limit", site.traction_index.toFixed(0));
      fact("Left free", `${mm(site.clearance_mm)} to ${site.clearance_to}`);
      parts.push(covers, facts, this.moves(name, one), this.why(site.because));
      if (!one.moved) parts.push(this.looked(name, one));
    } else {
      parts.push(this.moves(name, one));
    }
    return parts;
  }

  private moves(name: string, one: Standing): HTMLElement {
    const nudge = (says: string, spoken: string, along: number, up: number) => {
      const made = press(says, () => this.layout.nudge(name, along, up), spoken);
      made.dataset["hold"] = spoken;
      return made;
    };
    const box = make(
      "div",
      "moves",
      nudge("←", "Move 2 mm towards the client’s left", -2, 0),
      nudge("→", "Move 2 mm towards the client’s right", 2, 0),
      nudge("↑", "Move 2 mm up", 0, 2),
      nudge("↓", "Move 2 mm down", 0, -2),
      press("Take out", () => this.layout.takeOut(name)),
    );
    if (one.moved) box.append(press("Put back", () => this.layout.putBack(name)));
    return box;
  }

  /** At the chair: whether the bond showed, style by style. */
  private looked(name: string, one: Standing): HTMLElement {
    const says = make("p", "quiet", "");
    says.setAttribute("role", "status");
    const note = async (style: string, showed: boolean) => {
      says.textContent = (await this.layout.looked(name, one.at, style, showed)) ?? "Not noted: the program did not answer. Try again.";
    };
    const lines = this.scene.styles.map(({ style, name: said }) =>
      make(
        "div",
        "looked",
        make("span", "", said),
        press("Hidden", () => void note(style, false), `${name}, ${said}: it was hidden`),
        press("It showed", () => void note(style, true), `${name}, ${said}: it showed`),
      ),
    );
    const more = make("details", "more", make("summary", "", "Seen at the chair?"), ...lines, says);
    more.open = this.lookedOpen;
    more.addEventListener("toggle", () => (this.lookedOpen = more.open));
    return more;
  }
  private lookedOpen = false;

  private why(because: string[]): HTMLElement {
    const list = make("ul", "");
    for (const reason of because) list.append(make("li", "", reason));
    const more = make("details", "more", make("summary", "", "Why is it here?"), list);
    more.open = this.whyOpen;
    more.addEventListener("toggle", () => (this.whyOpen = more.open));
    return more;
  }
  private whyOpen = false;

  private footer(): Node[] {
    const changed = this.layout.changed;
    if (this.layout.onlyLooking) return [];
    const moved = changed.filter((one) => !one.out).length;
    const out = changed.length - moved;
    const faulty = this.layout.faulty;
    const says = [moved > 0 ? `${moved} moved` : "", out > 0 ? `${out} taken out` : ""].filter((word) => word !== "").join(", ");
    const parts: Node[] = changed.length === 0 && !this.layout.canUndo ? [] : [make("p", "", make("strong", "", says === "" ? "As planned" : says), this.spared())];
    const actions = make("div", "moves");
    if (this.layout.canUndo) actions.append(press("Undo", () => this.layout.undo()));
    if (changed.length > 0) {
      actions.append(press("All back", () => this.layout.putAllBack()));
      const reason = make("textarea", "");
      reason.id = "moves-reason";
      reason.value = this.reason;
      reason.addEventListener("input", () => (this.reason = reason.value));
      if (faulty.length > 0) {
        const label = make("label", "", "A limit that protects her is passed. Why it may be, to be kept with the plan");
        label.htmlFor = reason.id;
        parts.push(label, reason);
      }
      const keep = press("Keep as a new plan", () => void this.keep(0));
      keep.classList.add("main");
      actions.append(keep);
      if (out > 0) actions.append(press("Fill up to the wish", () => void this.keep(undefined)));
    }
    if (actions.childElementCount > 0) parts.push(actions);
    parts.push(this.more());
    if (this.told.length > 0) {
      const notice = make("div", "notice stop", make("h4", "", "Not kept"), faultList(this.told));
      notice.setAttribute("role", "alert");
      parts.push(notice);
    }
    return parts;
  }
  private reason = "";
  private told: Fault[] = [];

  /** Hair is down and it is not enough: what to add, without touching what is in. */
  private more(): HTMLElement {
    const grams = make("input", "");
    Object.assign(grams, { type: "text", inputMode: "decimal", id: "more-grams", value: this.grams });
    grams.setAttribute("aria-describedby", "more-unit");
    grams.addEventListener("input", () => (this.grams = grams.value));
    const unit = make("span", "unit", "g");
    unit.id = "more-unit";
    const label = make("label", "", "Add around what is in");
    label.htmlFor = grams.id;
    const add = press("Plan it", () => {
      const value = Number(this.grams.trim().replace(",", "."));
      if (this.grams.trim() !== "" && value > 0) void this.keep(value);
      else this.tell([{ what: `“${this.grams}” is no amount of hair`, where: "", rule: "", cure: "Write the grams to add, as in 20." }]);
    });
    const more = make("details", "more", make("summary", "", "Hair is down: not enough?"), label, make("div", "moves", make("div", "measure", grams, unit), add));
    more.open = this.moreOpen;
    more.addEventListener("toggle", () => (this.moreOpen = more.open));
    return more;
  }
  private grams = "20";
  private moreOpen = false;

  private tell(faults: Fault[]): void {
    this.told = faults;
    this.draw();
  }

  /** Grams that the changes leave out. */
  private spared(): string {
    const each = (one: Standing) => one.drawn.site.piece.mass_g * (one.drawn.site.single_sided ? 1 : 2);
    const all = [...this.layout.standing.values()];
    const now = all.filter((one) => !one.out).reduce((sum, one) => sum + each(one), 0);
    const planned = all.reduce((sum, one) => sum + each(one), 0);
    return now < planned ? ` · ${now.toFixed(0)} g of ${planned.toFixed(0)} g` : "";
  }

  private async keep(addG: number | undefined): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    try {
      const kept = await this.layout.keep(this.reason, addG);
      if (kept.plan) {
        window.location.assign(kept.plan);
        return;
      }
      this.told = kept.faults ?? [];
    } catch {
      this.told = [{ what: "The program did not answer.", where: "", rule: "", cure: "Nothing was lost: try again." }];
    } finally {
      this.busy = false;
    }
    this.draw();
  }
}
