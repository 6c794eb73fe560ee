// What there is to say of the chosen sandwich, and of the changes so far.
import type { Layout, Standing } from "./layout";
import { type Caution, type Fault, type OtherLayout, type Scene, sentence, type WhyNot } from "./shapes";

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

/** Where a sandwich is, in words, as on the run sheet. */
function place(one: Standing, row: string | undefined): string {
  const site = one.site;
  const along = Math.abs(one.at.along_mm);
  const side = one.at.along_mm < 0 ? "client’s left" : "client’s right";
  if (site && (site.section === "left" || site.section === "right")) {
    const up = site.map_mm[0][1];
    return `${mm(site.from_line_mm ?? along)} from the ear-to-ear line, ${side} · ${row ?? "a line of its own"}, ${mm(up)} up the ear-to-ear line`;
  }
  const from = along < 0.5 ? "across the middle" : `${mm(along)} from the middle, ${side}`;
  return `${from} · ${row ?? "a row of its own"}, ${mm(one.at.above_nape_mm)} up the middle`;
}

function cautionList(cautions: Caution[]): HTMLElement {
  const list = make("ul", "marked");
  for (const caution of cautions) list.append(make("li", "", sentence(caution.what)));
  return list;
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
  /** Whether more hair is asked for. */
  private asking = false;

  constructor(
    private readonly frame: HTMLElement,
    private readonly scene: Scene,
    private readonly layout: Layout,
    private readonly drawn: () => void,
  ) {
    layout.onChange = () => this.draw();
    this.draw();
  }

  private get box(): HTMLElement {
    return this.frame.querySelector<HTMLElement>("[data-card]")!;
  }

  private get changes(): HTMLElement {
    return this.frame.querySelector<HTMLElement>("[data-changes]")!;
  }

  /** Notes which style the head shows. */
  wear(style: string): void {
    this.worn = style;
    this.draw();
  }

  /** Asks for more hair around what is in. */
  more(): void {
    this.layout.closeAll();
    this.asking = true;
    this.draw();
    document.querySelector<HTMLElement>("#more-grams")?.focus();
  }

  /** Says a sentence in place of a sandwich. */
  says(text: string): void {
    this.open(true);
    this.box.replaceChildren(make("p", "quiet", text));
  }

  private open(open: boolean): void {
    this.frame.hidden = !open;
    this.frame.closest(".first")?.classList.toggle("asking", open);
  }

  private draw(): void {
    const held = document.activeElement instanceof HTMLElement ? document.activeElement.dataset["hold"] : undefined;
    const layout = this.layout;
    const name = layout.chosen;
    const one = name === undefined ? undefined : layout.standing.get(name);
    if (one || layout.tapped || layout.looking) this.asking = false;
    const changed = layout.changed.length > 0 || layout.canUndo;
    this.open(!!one || !!layout.tapped || !!layout.looking || this.asking || (changed && !layout.onlyLooking));
    if (layout.looking) this.box.replaceChildren(...this.other(layout.looking));
    else if (layout.onlyLooking) this.box.replaceChildren();
    else if (layout.tapped) this.box.replaceChildren(...this.whyNot(layout.tapped.answer));
    else if (name !== undefined && one) this.box.replaceChildren(...this.sandwich(name, one));
    else if (this.asking) this.box.replaceChildren(...this.notEnough());
    else this.box.replaceChildren();
    this.changes.replaceChildren(...this.footer());
    this.drawn();
    if (held) document.querySelector<HTMLElement>(`[data-hold="${held}"]`)?.focus();
  }

  /** A heading with a way to close what is open. */
  private heading(...says: Child[]): HTMLElement {
    const close = press("Close", () => {
      this.asking = false;
      this.layout.closeAll();
    });
    close.classList.add("plain", "close");
    return make("h2", "", ...says, close);
  }

  /** An empty place: what keeps it free, or what may stand there. */
  private whyNot(answer: WhyNot | undefined): Node[] {
    if (!answer) return [this.heading("This place"), make("p", "quiet", "Looking …")];
    const says = make("p", "where-says", answer.says);
    says.setAttribute("role", "status");
    const parts: Node[] = [this.heading("This place"), says];
    if (answer.offer) {
      const put = press("Put one here", () => this.layout.putHere());
      put.classList.add("main");
      if (answer.cautions.length > 0) parts.push(cautionList(answer.cautions));
      parts.push(make("div", "moves", put));
    } else if (answer.faults.length > 1) {
      const rest = make("div", "", make("p", "quiet small", "Also"), faultList(answer.faults.slice(1)));
      parts.push(rest);
    }
    return parts;
  }

  /** Another layout, and whether to take it. */
  private other(other: OtherLayout): Node[] {
    const take = press("Take this layout", () => void this.keep(0));
    take.classList.add("main");
    return [
      this.heading("Another layout"),
      make("p", "quiet", `${other.sites.length} sandwiches; ${other.points_more.toFixed(1)} points more than the plan’s, and fewer are better. It keeps every limit.`),
      make("div", "moves", take, press("Back to the plan", () => this.layout.showAll(undefined))),
    ];
  }

  private sandwich(name: string, one: Standing): Node[] {
    const tag = one.out ? "taken out" : one.moved ? "moved" : one.added ? "put in" : "";
    const parts: Node[] = [this.heading(name, tag === "" ? "" : make("span", "tag", tag))];
    if (one.out) {
      parts.push(make("p", "quiet", "Nothing is set here."), make("div", "moves", press("Put back", () => this.layout.putBack(name))));
      return parts;
    }
    parts.push(make("p", "where", place(one, this.layout.rowOf(one))));
    if (one.faults.length > 0) {
      const notice = make("div", "notice stop", make("h3", "", "Not here"), faultList(one.faults), make("p", "small", "It can be kept all the same, with a reason."));
      notice.setAttribute("role", "status");
      parts.push(notice);
    } else if (one.moved || one.added) {
      const notice = make("p", "notice good", "It may stand here.");
      notice.setAttribute("role", "status");
      parts.push(notice);
    }
    const site = one.site;
    const cautions = one.moved || one.added ? one.cautions : (this.scene.cautions ?? []).filter((caution) => caution.site === name);
    if (cautions.length > 0) parts.push(cautionList(cautions));
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
      parts.push(this.moves(name, one), covers, facts, this.why(site.because));
      if (!one.moved && !one.added) parts.push(this.looked(name, one));
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
    const added = changed.filter((one) => one.added).length;
    const out = changed.filter((one) => one.out).length;
    const moved = changed.length - added - out;
    const faulty = this.layout.faulty;
    const says = [moved > 0 ? `${moved} moved` : "", added > 0 ? `${added} put in` : "", out > 0 ? `${out} taken out` : ""].filter((word) => word !== "").join(", ");
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
    if (this.told.length > 0) {
      const notice = make("div", "notice stop", make("h3", "", "Not kept"), faultList(this.told));
      notice.setAttribute("role", "alert");
      parts.push(notice);
    }
    return parts;
  }
  private reason = "";
  private told: Fault[] = [];

  /** Hair is down and it is not enough: what to add, without touching what is in. */
  private notEnough(): Node[] {
    const grams = make("input", "");
    Object.assign(grams, { type: "text", inputMode: "decimal", id: "more-grams", value: this.grams, autocomplete: "off" });
    grams.setAttribute("aria-describedby", "more-unit more-says");
    grams.addEventListener("input", () => (this.grams = grams.value));
    const unit = make("span", "unit", "g");
    unit.id = "more-unit";
    const says = make("p", "hint", "What is in stays where it is. Where there is no room, the plan stays as it is and says so.");
    says.id = "more-says";
    const label = make("label", "", "Add around what is in");
    label.htmlFor = grams.id;
    const add = press("Plan it", () => {
      const value = Number(this.grams.trim().replace(",", "."));
      if (this.grams.trim() !== "" && value > 0) void this.keep(value);
      else this.tell([{ what: `“${this.grams}” is no amount of hair`, where: "", rule: "", cure: "Write the grams to add, as in 20." }]);
    });
    add.classList.add("main");
    const others = this.scene.others.map((other, i) => press(`Look at another layout${this.scene.others.length > 1 ? ` (${i + 1})` : ""}`, () => this.layout.showOther(other)));
    const parts: Node[] = [this.heading("Hair is down: not enough?"), label, make("div", "moves", make("div", "measure", grams, unit), add), says];
    if (others.length > 0) parts.push(make("div", "moves", ...others));
    return parts;
  }
  private grams = "20";

  private tell(faults: Fault[]): void {
    this.told = faults;
    this.draw();
  }

  /** Grams with the changes, against the plan and the wish. */
  private spared(): string {
    const each = ({ drawn: { site } }: Standing) => site.piece.mass_g * (site.single_sided ? 1 : 2);
    const all = [...this.layout.standing.values()];
    const now = all.filter((one) => !one.out).reduce((sum, one) => sum + each(one), 0);
    const planned = all.filter((one) => !one.added).reduce((sum, one) => sum + each(one), 0);
    return Math.abs(now - planned) < 0.05 ? "" : ` · ${now.toFixed(0)} g instead of ${planned.toFixed(0)} g; she wished ${this.scene.wished_g.toFixed(0)} g`;
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
