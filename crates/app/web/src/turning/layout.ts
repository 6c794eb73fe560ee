// The sandwiches as they now stand: as planned, moved, or taken out. Every move
// is judged by the program, never here.
import { type Answer, type At, type Caution, type Fault, type OnSkin, type OtherLayout, type Picture, type Place, placeOf, type Scene, type SiteDrawn, type SitePlan, type Triple, type WhyNot } from "./shapes";

/** One sandwich as it now stands. */
export interface Standing {
  drawn: SiteDrawn;
  at: At;
  tab: OnSkin[];
  /** Its numbers; nothing while the place is off the head. */
  site: SitePlan | null;
  faults: Fault[];
  cautions: Caution[];
  moved: boolean;
  out: boolean;
  /** Put in by hand; it is not in the plan. */
  added: boolean;
}

/** The section of a row, by its name. */
function sectionOf(title: string): string {
  return title.startsWith("Left") ? "left" : title.startsWith("Right") ? "right" : "back";
}

export class Layout {
  readonly standing = new Map<string, Standing>();
  chosen: string | undefined;
  /** Called after every change. */
  onChange: () => void = () => {};
  /** Called before another layout is shown, which only the turning head draws. */
  onOther: () => void = () => {};
  private readonly undone: { name: string; before: Standing | undefined }[] = [];
  private asking = false;
  private waiting: (() => Promise<void>) | undefined;

  private readonly pictures: Picture[] = [];
  /** An empty place that was tapped, with the answer once it is there. */
  tapped: { place: Place; answer: WhyNot | undefined } | undefined;

  constructor(
    private readonly address: string,
    private readonly scene: Scene,
  ) {
    for (const drawn of scene.sites) {
      this.standing.set(drawn.site.site, { drawn, at: placeOf(drawn.site), tab: drawn.tab, site: drawn.site, faults: [], cautions: [], moved: false, out: false, added: false });
    }
  }

  /** Shows everything that stands in one more picture. */
  addPicture(picture: Picture): void {
    this.pictures.push(picture);
    for (const name of this.standing.keys()) this.show(name);
  }

  /** Asks why nothing stands at an empty place. */
  async askWhy(place: Place): Promise<void> {
    if (this.onlyLooking) return;
    this.choose(undefined);
    const asked = { place, answer: undefined as WhyNot | undefined };
    this.tapped = asked;
    this.onChange();
    const others = [...this.standing.values()].filter((one) => !one.out).map((one) => one.at);
    try {
      const answer = await fetch(`${this.address}/why-not`, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ ...place, others }),
      });
      const said = (await answer.json()) as Partial<WhyNot> & { faults: Fault[] };
      asked.answer = { says: said.says ?? "No hair grows here.", faults: said.faults, cautions: said.cautions ?? [], offer: said.offer ?? null };
    } catch {
      asked.answer = { says: "The program did not answer. See whether it still runs, then tap again.", faults: [], cautions: [], offer: null };
    }
    if (this.tapped === asked) this.onChange();
  }

  /** Puts in the sandwich that was offered for the place that was tapped. */
  putHere(): void {
    const offer = this.tapped?.answer?.offer;
    const like = [...this.standing.values()][0]?.drawn;
    if (!offer?.site || !like) return;
    let count = 1;
    while (this.standing.has(`New ${count}`)) count += 1;
    const name = `New ${count}`;
    const site = { ...offer.site, site: name };
    const drawn: SiteDrawn = { site, tab: offer.tab, fill: like.fill, under_fill: like.under_fill };
    const at = { above_nape_mm: offer.above_nape_mm, along_mm: offer.along_mm, half: offer.half };
    this.standing.set(name, { drawn, at, tab: offer.tab, site, faults: [], cautions: this.tapped?.answer?.cautions ?? [], moved: false, out: false, added: true });
    this.undone.push({ name, before: undefined });
    this.tapped = undefined;
    this.choose(name);
    if (!this.asking) void this.next();
  }

  /** Puts the tapped place out of sight again. */
  closeAll(): void {
    this.tapped = undefined;
    this.choose(undefined);
    this.onChange();
  }

  tabOf(name: string): OnSkin[] | undefined {
    const one = this.standing.get(name);
    return one && !one.out ? one.tab : undefined;
  }

  /** Chooses a sandwich, or none; turns to it when asked. */
  choose(name: string | undefined, turn = false): void {
    if (this.onlyLooking) return;
    if (this.chosen === name && this.tapped === undefined) return;
    const before = this.chosen;
    this.chosen = name;
    this.tapped = undefined;
    if (before !== undefined) this.show(before);
    if (name === undefined) {
      this.onChange();
      return;
    }
    this.show(name);
    const tab = this.tabOf(name);
    const middle = tab?.[Math.floor(tab.length / 2)];
    if (turn && middle) for (const picture of this.pictures) picture.face(middle);
    this.onChange();
  }

  /** What the row is called whose parting a sandwich stands on. */
  rowOf(one: Standing): string | undefined {
    const near = this.scene.rows.find((row) => Math.abs(row.above_nape_mm - one.at.above_nape_mm) < 0.6 && (one.site?.section === undefined || sectionOf(row.title) === one.site.section));
    return near?.title;
  }

  /** Moves a sandwich to a point of the skin. */
  drag(name: string, point: Triple): void {
    this.ask(name, point);
  }

  /** Moves a sandwich by millimetres along its parting, towards the client's right, and upward. */
  nudge(name: string, along: number, up: number): void {
    const one = this.standing.get(name);
    if (!one || one.out) return;
    this.remember(name);
    one.at = { ...one.at, along_mm: one.at.along_mm + along, above_nape_mm: one.at.above_nape_mm + up };
    one.moved = true;
    this.ask(name, undefined);
  }

  takeOut(name: string): void {
    const one = this.standing.get(name);
    if (!one) return;
    this.remember(name);
    one.out = true;
    one.faults = [];
    this.hide(name);
    if (one.added) {
      this.standing.delete(name);
      this.chosen = undefined;
    }
    this.onChange();
    if (!this.asking) void this.next();
  }

  /** Puts a sandwich back where it was planned. */
  putBack(name: string): void {
    const one = this.standing.get(name);
    if (!one) return;
    this.remember(name);
    Object.assign(one, { at: placeOf(one.drawn.site), tab: one.drawn.tab, site: one.drawn.site, faults: [], cautions: [], moved: false, out: false });
    this.show(name);
    this.onChange();
    if (!this.asking) void this.next();
  }

  putAllBack(): void {
    for (const [name, one] of [...this.standing]) {
      if (one.added) this.takeOut(name);
      else if (one.moved || one.out) this.putBack(name);
    }
  }

  get canUndo(): boolean {
    return this.undone.length > 0;
  }

  undo(): void {
    const last = this.undone.pop();
    if (!last) return;
    if (last.before) this.standing.set(last.name, last.before);
    else this.standing.delete(last.name);
    if (!last.before || last.before.out) this.hide(last.name);
    else this.show(last.name);
    if (!this.standing.has(this.chosen ?? "")) this.chosen = undefined;
    this.onChange();
    if (!this.asking) void this.next();
  }

  private remember(name: string): void {
    const one = this.standing.get(name);
    if (one) this.undone.push({ name, before: { ...one } });
  }

  /** Notes where a drag began, once for the whole drag. */
  private dragging: string | undefined;
  private ask(name: string, point: Triple | undefined): void {
    if (point && this.dragging !== name) {
      this.remember(name);
      this.dragging = name;
      window.addEventListener("pointerup", () => (this.dragging = undefined), { once: true });
    }
    this.waiting = () => this.judge(name, point);
    if (!this.asking) void this.next();
  }

  /**
   * One question at a time; of those that wait only the newest is asked. When the
   * hand rests, what was moved before is judged again beside what moved last.
   */
  private async next(): Promise<void> {
    this.asking = true;
    while (this.waiting) {
      const ask = this.waiting;
      this.waiting = undefined;
      await ask();
    }
    for (const [name, one] of this.standing) {
      if (this.waiting) break;
      if ((one.moved || one.added) && !one.out && name !== this.chosen) await this.judge(name, undefined);
    }
    this.asking = false;
    if (this.waiting) void this.next();
  }

  private async judge(name: string, point: Triple | undefined): Promise<void> {
    const one = this.standing.get(name);
    if (!one || one.out) return;
    const others = [...this.standing].filter(([other, s]) => other !== name && !s.out).map(([, s]) => s.at);
    try {
      const answer = await fetch(`${this.address}/judge`, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ point, at: one.at, others }),
      });
      if (!answer.ok) {
        const said = answer.status === 422 ? ((await answer.json()) as { faults: Fault[] }).faults : [];
        if (said.length > 0) one.faults = said;
        this.onChange();
        return;
      }
      const judged = (await answer.json()) as Answer;
      one.at = { ...one.at, above_nape_mm: judged.above_nape_mm, along_mm: judged.along_mm };
      one.moved = !one.added;
      one.site = judged.site;
      one.faults = judged.faults;
      one.cautions = judged.cautions;
      if (judged.tab.length > 1) one.tab = judged.tab;
    } catch {
      one.faults = [{ what: "The program did not answer.", where: name, rule: "", cure: "See whether it still runs, then move it again." }];
    }
    this.show(name);
    this.onChange();
  }

  private show(name: string): void {
    const one = this.standing.get(name);
    if (!one || one.out) return;
    const mark = one.faults.length > 0 ? "refused" : name === this.chosen ? "chosen" : "plain";
    for (const picture of this.pictures) picture.set(name, one.tab, one.drawn.fill, one.drawn.under_fill, mark, one.site);
  }

  private hide(name: string): void {
    for (const picture of this.pictures) picture.remove(name);
  }

  private hideAll(): void {
    for (const picture of this.pictures) picture.removeAll();
  }

  get changed(): Standing[] {
    return [...this.standing.values()].filter((one) => one.moved || one.out || one.added);
  }

  get faulty(): Standing[] {
    return [...this.standing.values()].filter((one) => !one.out && one.faults.length > 0);
  }

  /** Shows other sandwiches in place of these, to look at only; these again without any. */
  showAll(others: SiteDrawn[] | undefined): void {
    this.hideAll();
    this.looking = undefined;
    this.onlyLooking = others !== undefined;
    if (others) {
      this.chosen = undefined;
      for (const drawn of others) for (const picture of this.pictures) picture.set(drawn.site.site, drawn.tab, drawn.fill, drawn.under_fill, "plain", drawn.site);
    } else {
      for (const name of this.standing.keys()) this.show(name);
    }
    this.onChange();
  }
  /** Shows another layout in place of this one, to look at only. */
  showOther(other: OtherLayout): void {
    this.onOther();
    this.hideAll();
    this.onlyLooking = true;
    this.looking = other;
    this.chosen = undefined;
    const fill = [...this.standing.values()][0]?.drawn.fill ?? "#8c8c8c";
    other.sites.forEach((site, i) => this.pictures.forEach((picture) => picture.set(`other ${i}`, site.tab, fill, fill, "plain", null)));
    this.onChange();
  }
  /** The other layout that is looked at. */
  looking: OtherLayout | undefined;

  /** While other sandwiches are looked at, these cannot be chosen. */
  onlyLooking = false;

  /** Notes whether a bond showed at the chair; answers what there is to say. */
  async looked(site: string, at: At, style: string, showed: boolean): Promise<string | undefined> {
    try {
      const answer = await fetch(`${this.address}/seen`, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ site, at, style, showed }),
      });
      const said = (await answer.json()) as { says?: string; faults?: Fault[] };
      return said.says ?? said.faults?.map((fault) => `${fault.what}. ${fault.cure}`).join(" ");
    } catch {
      return undefined;
    }
  }

  /** Keeps the layout as a new plan, with so many grams added around it (up to the wish without a number); answers its address, or what is wrong. */
  async keep(reason: string, addG: number | undefined): Promise<{ plan?: string; faults?: Fault[] }> {
    const all = [...this.standing.values()];
    if (this.looking) return this.send({ sites: this.looking.sites.map(({ at }) => ({ ...at, half: at.cut === "half" })), taken_out: [], reason, add_g: addG });
    const sites = all.filter((one) => !one.out).map((one) => one.at);
    const takenOut = all.filter((one) => one.out).map((one) => placeOf(one.drawn.site));
    return this.send({ sites, taken_out: takenOut, reason, add_g: addG });
  }

  private async send(moves: { sites: At[]; taken_out: At[]; reason: string; add_g: number | undefined }): Promise<{ plan?: string; faults?: Fault[] }> {
    const answer = await fetch(`${this.address}/moves`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(moves),
    });
    return (await answer.json()) as { plan?: string; faults?: Fault[] };
  }
}
