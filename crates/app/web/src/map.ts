// The map and its rows point at each other: choosing a site in one shows it in the other.

function siteOf(element: Element | null): string | undefined {
  return element?.closest<HTMLElement | SVGElement>("[data-site]")?.dataset["site"];
}

export function linkMapAndRows(): void {
  const map = document.querySelector<HTMLElement>(".head-map");
  const rows = document.querySelector<HTMLElement>(".rows");
  if (!map || !rows) return;

  const inMap = new Map<string, SVGElement>();
  for (const mark of map.querySelectorAll<SVGElement>("[data-site]")) {
    inMap.set(mark.dataset["site"] ?? "", mark);
  }
  const inRows = new Map<string, HTMLDetailsElement>();
  for (const line of rows.querySelectorAll<HTMLDetailsElement>("details[data-site]")) {
    inRows.set(line.dataset["site"] ?? "", line);
  }

  const show = (site: string | undefined) => {
    for (const [name, mark] of inMap) mark.classList.toggle("shown", name === site);
    for (const [name, line] of inRows) line.classList.toggle("shown", name === site);
  };

  map.addEventListener("click", (event) => {
    const site = siteOf(event.target as Element);
    const line = site ? inRows.get(site) : undefined;
    if (!line) return;
    show(site);
    line.open = true;
    // Beside the map the card says the same; without it the line itself is shown.
    if (document.querySelector(".turning[data-plan]:not([hidden])")) return;
    line.scrollIntoView({ block: "nearest" });
    line.querySelector<HTMLElement>("summary")?.focus({ preventScroll: true });
  });
  map.addEventListener("pointerover", (event) => show(siteOf(event.target as Element)));
  rows.addEventListener("pointerover", (event) => show(siteOf(event.target as Element)));
  rows.addEventListener("focusin", (event) => show(siteOf(event.target as Element)));
}
