// The client's form: nothing typed is lost by leaving, lengths are shown in
// centimetres beside the millimetres, and the way through the visit stays in sight.

/** Warns before a page with unsaved answers is left. */
function warnBeforeLeaving(form: HTMLFormElement): void {
  const status = form.querySelector<HTMLElement>("[data-status]");
  let changed = form.hasAttribute("data-refused");
  form.addEventListener("input", () => {
    changed = true;
    if (status) status.textContent = "Not saved yet";
  });
  form.addEventListener("submit", () => {
    changed = false;
  });
  window.addEventListener("beforeunload", (event) => {
    if (changed) event.preventDefault();
  });
}

/** A length as a tape measure reads it: in centimetres, or in millimetres when a unit was written. */
function asOnTheTape(text: string): string {
  const [, digits, unit] = /^([+-]?[\d.,]+)\s*(mm|cm|in|inch|inches|["”″])?$/i.exec(text.trim()) ?? [];
  const value = Number((digits ?? "").replace(",", "."));
  if (!digits || !Number.isFinite(value)) return "";
  if (!unit || unit.toLowerCase() === "mm") return `= ${(value / 10).toFixed(1)} cm`;
  const mm = value * (unit.toLowerCase() === "cm" ? 10 : 25.4);
  return `= ${Math.round(mm * 10) / 10}`;
}

/** Shows centimetres beside every length while it is typed. */
function echoCentimetres(form: HTMLFormElement): void {
  for (const echo of form.querySelectorAll<HTMLElement>("[data-echo-for]")) {
    const input = form.querySelector<HTMLInputElement>(`#${CSS.escape(echo.dataset["echoFor"] ?? "")}`);
    if (!input) continue;
    const show = () => {
      echo.textContent = asOnTheTape(input.value);
    };
    input.addEventListener("input", show);
    show();
  }
}

/** Marks the group in view in the list of groups. */
function followTheVisit(form: HTMLFormElement): void {
  const links = new Map<string, HTMLAnchorElement>();
  for (const link of document.querySelectorAll<HTMLAnchorElement>(".visit a")) {
    links.set(link.hash.slice(1), link);
  }
  const groups = [...form.querySelectorAll<HTMLElement>("section.group")];
  const mark = () => {
    const edge = window.innerHeight / 3;
    const atEnd = window.innerHeight + window.scrollY >= document.documentElement.scrollHeight - 4;
    const passed = groups.filter((group) => group.getBoundingClientRect().top < edge);
    const current = atEnd ? groups.at(-1) : (passed.at(-1) ?? groups[0]);
    for (const [id, link] of links) {
      if (id === current?.id) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
  };
  let waiting = false;
  window.addEventListener(
    "scroll",
    () => {
      if (waiting) return;
      waiting = true;
      requestAnimationFrame(() => {
        waiting = false;
        mark();
      });
    },
    { passive: true },
  );
  mark();
}

/** Adds and removes lines of a repeated answer without asking the server. */
function repeatLines(form: HTMLFormElement): void {
  form.addEventListener("click", (event) => {
    const button = (event.target as Element).closest<HTMLButtonElement>("button[data-add], button[data-remove]");
    if (!button) return;
    event.preventDefault();
    const list = button.closest(".repeated")?.querySelector<HTMLElement>(".lines");
    if (!list) return;
    if (button.hasAttribute("data-add")) {
      const pattern = button.closest(".repeated")?.querySelector<HTMLTemplateElement>("template");
      if (!pattern) return;
      list.append(pattern.content.cloneNode(true));
      list.lastElementChild?.querySelector<HTMLElement>("input, select")?.focus();
    } else {
      const line = button.closest(".line");
      const near = line?.previousElementSibling ?? line?.nextElementSibling;
      line?.remove();
      const next = near?.querySelector<HTMLElement>("input, select") ?? list.parentElement?.querySelector<HTMLElement>("[data-add]");
      next?.focus();
    }
    form.dispatchEvent(new Event("input", { bubbles: true }));
  });
}

/** Ticking "none" unticks the rest of its list, and the other way round. */
function keepNoneAlone(form: HTMLFormElement): void {
  form.addEventListener("change", (event) => {
    const ticked = event.target as HTMLInputElement;
    if (ticked.type !== "checkbox" || !ticked.checked) return;
    for (const other of form.querySelectorAll<HTMLInputElement>(`input[name="${CSS.escape(ticked.name)}"]`)) {
      if (other !== ticked && (ticked.value === "none" || other.value === "none")) other.checked = false;
    }
  });
}

/** Takes the reader to the list of what is wrong. */
function showFaults(): void {
  document.querySelector<HTMLElement>(".faults[tabindex]")?.focus();
}

export function guardTheForm(): void {
  const form = document.querySelector<HTMLFormElement>("form.facts");
  if (form) {
    if (form.querySelector("section.group")) followTheVisit(form);
    keepNoneAlone(form);
  }
  for (const kept of document.querySelectorAll<HTMLFormElement>("form[data-guard], form[data-talk]")) {
    // A part of the consultation is a draft from the first letter on: leaving it loses nothing.
    if (kept.hasAttribute("data-guard")) warnBeforeLeaving(kept);
    echoCentimetres(kept);
    repeatLines(kept);
  }
  showFaults();
}
