// The flat map as a picture of the layout: what is chosen, moved, put in or
// taken out, and which place was tapped.
import type { Mark, OnSkin, Picture, Place, SitePlan } from "./shapes";

const SVG = "http://www.w3.org/2000/svg";
/** How tall a tab is drawn, mm, as on the drawing itself. */
const TAB = 8.6;

function draw(name: string, attributes: Record<string, string | number>): SVGElement {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, String(value));
  return made;
}

export class FlatMap implements Picture {
  private readonly planned = new Map<string, SVGElement>();
  private readonly where = new Map<string, string>();
  private readonly ours = new Map<string, SVGElement>();
  private readonly panels = new Map<string, SVGSVGElement>();
  private ring: SVGElement | undefined;

  constructor(
    map: HTMLElement,
    sites: SitePlan[],
    tapped: (place: Place) => void,
    chosen: (site: string) => void,
  ) {
    for (const site of sites) this.where.set(site.site, JSON.stringify([site.panel, site.map_mm]));
    for (const group of map.querySelectorAll<SVGElement>("[data-site]")) this.planned.set(group.dataset["site"] ?? "", group);
    for (const panel of map.querySelectorAll<SVGSVGElement>("svg[data-panel]")) {
      this.panels.set(panel.dataset["panel"] ?? "", panel);
      panel.addEventListener("click", (event) => {
        const site = (event.target as Element).closest<SVGElement>("[data-site]");
        if (site && !site.classList.contains("gone")) {
          chosen(site.dataset["site"] ?? "");
          return;
        }
        const matrix = panel.getScreenCTM();
        if (!matrix) return;
        const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
        tapped({ on_panel: { panel: panel.dataset["panel"] ?? "", at: [at.x, -at.y] } });
      });
    }
  }

  set(name: string, _tab: OnSkin[], fill: string, _underFill: string, mark: Mark, site: SitePlan | null): void {
    this.ours.get(name)?.remove();
    this.ours.delete(name);
    const planned = this.planned.get(name);
    const unmoved = planned && site && this.where.get(name) === JSON.stringify([site.panel, site.map_mm]);
    planned?.classList.toggle("gone", !unmoved);
    planned?.classList.toggle("chosen", !!unmoved && mark === "chosen");
    planned?.classList.toggle("refused", !!unmoved && mark === "refused");
    const panel = site?.panel && this.panels.get(site.panel);
    if (unmoved || !site || !panel) return;
    const [[x0, y0], [x1, y1]] = site.map_mm;
    const [x, y] = [(x0 + x1) / 2, -(y0 + y1) / 2];
    const group = draw("g", { class: `site ${mark}`, "data-site": name });
    const tab = draw("rect", { class: "tab", x: x - site.width_mm / 2, y, width: site.width_mm, height: TAB, rx: 1.2, fill });
    const says = draw("text", { class: "name", x, y: y + TAB + 7, "text-anchor": "middle" });
    says.textContent = name;
    group.append(tab, says);
    panel.append(group);
    this.ours.set(name, group);
  }

  remove(name: string): void {
    this.ours.get(name)?.remove();
    this.ours.delete(name);
    const planned = this.planned.get(name);
    planned?.classList.remove("chosen", "refused");
    planned?.classList.add("gone");
  }

  removeAll(): void {
    for (const name of [...this.planned.keys(), ...this.ours.keys()]) this.remove(name);
  }

  /** The map shows every place already. */
  face(): void {}

  /** Rings the place that was tapped; none any more without one. */
  mark(place: Place | undefined): void {
    this.ring?.remove();
    this.ring = undefined;
    if (!place || !("on_panel" in place)) return;
    const { panel, at } = place.on_panel;
    this.ring = draw("circle", { class: "asked", cx: at[0], cy: -at[1], r: 4.5 });
    this.panels.get(panel)?.append(this.ring);
  }
}
