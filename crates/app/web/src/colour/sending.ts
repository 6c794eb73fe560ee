// Sending a photo: what was chosen is named, a file that is too large is stopped
// before it travels, and a photo may be dropped onto its place.

/** The most bytes the server takes in; it says so itself when this is passed. */
const MOST_BYTES = 40_000_000;

function megabytes(bytes: number): string {
  return `${(bytes / 1_000_000).toFixed(bytes < 10_000_000 ? 1 : 0)} MB`;
}

function listen(form: HTMLFormElement): void {
  const [input, camera] = [...form.querySelectorAll<HTMLInputElement>("input[type=file]")];
  const chosen = form.querySelector<HTMLElement>("[data-chosen]");
  const wrong = form.querySelector<HTMLElement>("[data-wrong]");
  const drop = form.querySelector<HTMLElement>(".drop");
  const send = form.querySelector<HTMLButtonElement>("button[type=submit]");
  if (!input || !chosen || !wrong || !drop || !send) return;
  const [asked, sends] = [chosen.textContent, send.textContent];

  const complain = (says: string) => {
    wrong.textContent = says;
    wrong.hidden = says === "";
  };
  const photo = () => input.files?.[0] ?? camera?.files?.[0];
  const show = () => {
    const file = photo();
    chosen.textContent = file ? `${file.name}, ${megabytes(file.size)}` : asked;
    drop.classList.toggle("filled", Boolean(file));
    complain(file && file.size > MOST_BYTES ? `That photo has ${megabytes(file.size)}, more than ${megabytes(MOST_BYTES)}: send it in a smaller size.` : "");
  };
  // The last choice counts: one field empties the other.
  for (const [one, other] of [[input, camera], [camera, input]] as const) {
    one?.addEventListener("change", () => {
      if (other) other.value = "";
      show();
    });
  }
  form.addEventListener("submit", (event) => {
    const file = photo();
    if (!file) complain("Choose or take a photo first.");
    if (!file || file.size > MOST_BYTES) {
      event.preventDefault();
      input.focus();
      return;
    }
    send.textContent = "Looking for the chart…";
    send.disabled = true;
  });
  // Coming back to the page must not find the button still waiting.
  window.addEventListener("pageshow", () => {
    send.textContent = sends;
    send.disabled = false;
    show();
  });
  for (const kind of ["dragenter", "dragover"]) {
    drop.addEventListener(kind, (event) => {
      event.preventDefault();
      drop.classList.add("over");
    });
  }
  for (const kind of ["dragleave", "drop"]) drop.addEventListener(kind, () => drop.classList.remove("over"));
  drop.addEventListener("drop", (event) => {
    event.preventDefault();
    if (!event.dataTransfer?.files.length) return;
    input.files = event.dataTransfer.files;
    show();
  });
}

export function sendPhotos(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form[data-photo]")) listen(form);
}

/** In the client's form: a colour given another way takes the place of the one that was read. */
export function oneColourOnly(): void {
  const read = document.querySelector<HTMLInputElement>("[data-only-one-colour]");
  const others = document.querySelectorAll<HTMLInputElement | HTMLSelectElement>("[name='colour.shade'], [name^='colour.lab_d65.']");
  for (const other of others) {
    other.addEventListener("input", () => {
      if (read && other.value !== "") read.checked = false;
    });
  }
}
