// The measuring page: every reading is judged while it is typed, and the head
// takes shape beside it. Without this script the page still saves and judges.

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
    const place = form.querySelector<HTMLElement>(`#${CSS.escape(id)}-says`);
    if (!place) continue;
    place.className = `says ${said.className}`;
    replaceIfNew(place, said);
    const input = form.querySelector<HTMLInputElement>(`input#${CSS.escape(id)}`);
    if (said.className === "wrong") input?.setAttribute("aria-invalid", "true");
    else input?.removeAttribute("aria-invalid");
  }
}

export function followTheTape(): void {
  const form = document.querySelector<HTMLFormElement>("form[data-measuring]");
  if (!form) return;
  let asked: AbortController | undefined;
  let resting: number | undefined;

  const ask = async () => {
    asked?.abort();
    asked = new AbortController();
    const body = new URLSearchParams();
    for (const [name, value] of new FormData(form)) body.append(name, String(value));
    try {
      const answer = await fetch("/measuring/check", { method: "POST", body, signal: asked.signal });
      if (answer.ok) takeIn(form, await answer.text());
    } catch (error) {
      // A newer question was asked, or the program is gone: saving will tell.
      if (!(error instanceof DOMException) && !(error instanceof TypeError)) throw error;
    }
  };

  form.addEventListener("input", () => {
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
