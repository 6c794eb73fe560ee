// What if: one thing changed, the whole plan made again, both side by side.
import type { Layout } from "./layout";
import { type Fault, sentence, type SiteDrawn } from "./shapes";

interface Change {
  density_per_cm2?: number;
  fullness?: string;
  care?: string;
  styles?: string[];
  tab_width_mm?: number;
  mass_g?: number;
}

interface Compared {
  refusal?: string | null;
  lines?: { label: string; planned: string; now: string; differs: boolean }[];
  faults: Fault[];
  sites?: SiteDrawn[];
}

/** How long a hand may rest before the plan is made again, ms. */
const REST = 90;

export class WhatIf {
  private readonly answer: HTMLElement;
  private readonly keeper: HTMLButtonElement;
  private timer: number | undefined;
  private asked = 0;

  constructor(
    private readonly form: HTMLFormElement,
    private readonly address: string,
    private readonly layout: Layout,
  ) {
    this.answer = form.querySelector<HTMLElement>("[data-answer]")!;
    form.addEventListener("input", () => {
      for (const echo of form.querySelectorAll<HTMLOutputElement>("output")) echo.value = (form.elements.namedItem(echo.htmlFor.value) as HTMLInputElement).value;
      window.clearTimeout(this.timer);
      this.timer = window.setTimeout(() => void this.compare(), REST);
    });
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("reset", () =>
      window.setTimeout(() => {
        // An answer that is still under way is to another question.
        window.clearTimeout(this.timer);
        this.asked += 1;
        this.answer.removeAttribute("aria-busy");
        for (const echo of form.querySelectorAll<HTMLOutputElement>("output")) echo.value = echo.defaultValue;
        this.answer.replaceChildren();
        this.allowKeeping();
        layout.showAll(undefined);
      }),
    );
    this.keeper = form.querySelector<HTMLButtonElement>("[data-keep]")!;
    this.keeper.addEventListener("click", () => void this.keep());
    this.allowKeeping();
  }

  /** Only a change can be kept. */
  private allowKeeping(): void {
    this.keeper.disabled = Object.keys(this.change()).length === 0;
  }

  /** What differs from the plan as it is. */
  private change(): Change {
    const change: Change = {};
    const number = (name: "density_per_cm2" | "tab_width_mm" | "mass_g") => {
      const input = this.form.elements.namedItem(name) as HTMLInputElement;
      if (input.value !== input.defaultValue && input.value.trim() !== "") change[name] = Number(input.value.replace(",", "."));
    };
    number("density_per_cm2");
    number("tab_width_mm");
    number("mass_g");
    const level = this.form.querySelector<HTMLInputElement>('input[name="fullness"]:checked');
    if (level && !level.defaultChecked) change.fullness = level.value;
    const care = this.form.querySelector<HTMLInputElement>('input[name="care"]:checked');
    if (care && !care.defaultChecked) change.care = care.value;
    const styles = [...this.form.querySelectorAll<HTMLInputElement>('input[name="styles"]')];
    if (styles.some((style) => style.checked !== style.defaultChecked)) change.styles = styles.filter((style) => style.checked).map((style) => style.value);
    return change;
  }

  /** A field that holds no number, as a fault. */
  private unreadable(): Fault | undefined {
    for (const [name, value] of Object.entries(this.change())) {
      if (typeof value !== "number" || Number.isFinite(value)) continue;
      const typed = (this.form.elements.namedItem(name) as HTMLInputElement).value;
      return { what: `“${typed}” is not a number`, where: name, rule: "", cure: "Write it in figures, as in 2.5." };
    }
    return undefined;
  }

  private async send(to: string): Promise<Response> {
    return fetch(`${this.address}${to}`, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(this.change()),
    });
  }

  private async compare(): Promise<void> {
    const mine = ++this.asked;
    this.allowKeeping();
    if (Object.keys(this.change()).length === 0) {
      this.answer.replaceChildren();
      this.layout.showAll(undefined);
      return;
    }
    const odd = this.unreadable();
    if (odd) {
      this.show({ faults: [odd] });
      return;
    }
    this.answer.setAttribute("aria-busy", "true");
    try {
      const answer = await this.send("/what-if");
      const compared = answer.headers.get("content-type")?.includes("json")
        ? ((await answer.json()) as Compared)
        : { faults: [{ what: "A value here cannot be used.", where: "", rule: "", cure: "Give a plain number." }] };
      if (mine === this.asked) this.show(compared);
    } catch {
      if (mine === this.asked) this.show({ faults: [{ what: "The program did not answer.", where: "", rule: "", cure: "See whether it still runs, then try again." }] });
    } finally {
      if (mine === this.asked) this.answer.removeAttribute("aria-busy");
    }
  }

  private show(compared: Compared): void {
    const parts: HTMLElement[] = [];
    const element = (name: string, text: string, kind = "") => {
      const made = document.createElement(name);
      made.textContent = text;
      if (kind) made.className = kind;
      return made;
    };
    if (compared.refusal) parts.push(element("p", compared.refusal, "notice stop"));
    if (compared.lines) {
      const table = document.createElement("table");
      const head = table.createTHead().insertRow();
      for (const says of ["", "As planned", "What if"]) head.append(element("th", says));
      const body = table.createTBody();
      for (const line of compared.lines) {
        const row = body.insertRow();
        if (line.differs) row.className = "differs";
        row.append(element("th", line.label), element("td", line.planned), element("td", line.now));
      }
      parts.push(table);
    }
    if (compared.faults.length > 0) {
      const list = document.createElement("ul");
      list.className = "notice care";
      for (const fault of compared.faults) {
        const line = document.createElement("li");
        line.append(element("strong", sentence(fault.what)), ` ${fault.cure}`);
        list.append(line);
      }
      parts.push(list);
    }
    this.answer.replaceChildren(...parts);
    this.layout.showAll(compared.sites);
  }

  private async keep(): Promise<void> {
    const odd = this.unreadable();
    if (odd) {
      this.show({ faults: [odd] });
      return;
    }
    try {
      const answer = await this.send("/what-if/keep");
      const said = (await answer.json()) as { plan?: string; faults?: Fault[] };
      if (said.plan) window.location.assign(said.plan);
      else this.show({ faults: said.faults ?? [] });
    } catch {
      this.show({ faults: [{ what: "Not kept: her facts were changed meanwhile, or the program did not answer.", where: "", rule: "", cure: "Open her plan anew and try again." }] });
    }
  }
}
