// The readings of a head, on the measuring page and in the client's form: each
// is judged while it is typed, and on the measuring page the head takes shape
// beside it. Without this script both pages still save and judge.

/** How long the fingers must rest before the readings are sent, in ms. */
const REST = 120;

/** Puts new content in only where it differs, so that nothing is read out twice. */
function replaceIfNew(place: HTMLElement, fresh: HTMLElement): void {
  if (place.innerHTML.trim() !== fresh.innerHTML.trim()) place.replaceChildren(...fresh.childNodes);
}

function takeIn(form: HTMLFormElement, answer: string): void {
  const fresh = new DOMParser().parseFromString(answer, "text/html");
  const shape = fresh.querySelector<HTMLElement>("[data-shape]");
  const here = form.querySelector<HTMLElement>("[data-shape]");
  if (shape && here) replaceIfNew(here, shape);
  for (const said of fresh.querySelectorAll<HTMLElement>("[data-says-for]")) {
    const id = said.dataset["saysFor"] ?? "";
    const place = form.querySelector<HTMLElement>(`[data-says="${CSS.escape(id)}"]`);
    if (!place) continue;
    place.className = `says ${said.className}`;
    replaceIfNew(place, said);
    const input = form.querySelector<HTMLInputElement>(`input#${CSS.escape(id)}`);
    if (input?.value.trim()) {
      // What was said when saving was refused holds no longer.
      form.querySelector(`#${CSS.escape(id)}-says > .error`)?.remove();
      place.closest(".field")?.classList.remove("refused");
    }
    if (said.className === "wrong") input?.setAttribute("aria-invalid", "true");
    else if (!place.closest(".field.refused")) input?.removeAttribute("aria-invalid");
  }
}

/** Whether an answer of a form is a reading of the head. */
function ofTheHead(name: string): boolean {
  return name.startsWith("head.");
}

export function followTheTape(): void {
  const form = document.querySelector<HTMLFormElement>("form[data-measuring], form.facts");
  if (!form) return;
  let asked: AbortController | undefined;
  let resting: number | undefined;

  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    const body = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (ofTheHead(name)) body.append(name, String(value));
    try {
      const answer = await fetch("/measuring/check", { method: "POST", body, signal: asked.signal });
      if (answer.ok) takeIn(form, await answer.text());
    } catch (error) {
      // A newer question was asked, or the program is gone: saving will tell.
      if (!(error instanceof DOMException) && !(error instanceof TypeError)) throw error;
    }
  };

  form.addEventListener("input", (event) => {
    if (!(event.target instanceof HTMLInputElement && ofTheHead(event.target.name))) return;
    window.clearTimeout(resting);
    resting = window.setTimeout(() => void ask(), REST);
  });
  form.addEventListener("click", (event) => {
    const button = (event.target as Element).closest<HTMLButtonElement>("button[data-use]");
    const input = button && form.querySelector<HTMLInputElement>(`#${CSS.escape(button.dataset["into"] ?? "")}`);
    if (!button || !input) return;
    input.value = button.dataset["use"] ?? input.value;
    input.focus();
    input.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
