// A part of the consultation: what is typed is kept from the first letter on, questions that
// follow from an answer come up beside it, and she signs on a pad with finger, pen or mouse.

/** How long a hand rests before what it typed is kept. */
const RESTS_MS = 500;

interface Kept {
  kept: string;
  says: string;
  asked: string[];
  open: string[];
}

/** Shows which questions are asked now and which of them are open. */
function showQuestions(form: HTMLFormElement, kept: Kept): void {
  for (const question of form.querySelectorAll<HTMLFieldSetElement>("[data-question]")) {
    const name = question.dataset["question"] ?? "";
    const asked = kept.asked.includes(name);
    // What has the focus does not go away under the hand.
    if (!asked && question.contains(document.activeElement)) continue;
    question.hidden = !asked;
    question.disabled = !asked;
    const tag = question.querySelector<HTMLElement>(".not-asked");
    if (tag) tag.hidden = !kept.open.includes(name);
  }
}

/** Keeps a draft of what is typed, one request at a time, the newest last. */
function keepDraft(form: HTMLFormElement, to: string): void {
  const status = form.querySelector<HTMLElement>("[data-status]");
  let lastKept = form.dataset["kept"] ?? "";
  let waiting = 0;
  let sending = false;
  let again = false;
  let leaving = false;
  let unkept = false;
  let sent = Promise.resolve();
  const say = (text: string) => {
    if (status) status.textContent = text;
  };
  const lost = (why: string) => say(lastKept ? `Not kept since ${lastKept}; stay on this page. ${why}` : `Not kept yet; stay on this page. ${why}`);
  const keep = () => {
    if (leaving) return;
    if (sending) {
      again = true;
      return;
    }
    sent = send();
  };
  const send = async () => {
    sending = true;
    again = false;
    try {
      const body = new URLSearchParams();
      for (const [name, value] of new FormData(form)) if (typeof value === "string") body.append(name, value);
      const answer = await fetch(to, { method: "POST", body });
      const told = (await answer.json()) as Kept;
      if (answer.ok) {
        lastKept = told.kept;
        unkept = again;
        say(told.says);
        if (!again) showQuestions(form, told);
      } else lost(told.says);
    } catch {
      lost("");
      // Where nobody answers it is tried again, until it is kept.
      window.clearTimeout(waiting);
      waiting = window.setTimeout(keep, 3000);
    }
    sending = false;
    if (again) keep();
  };
  const soon = (event: Event) => {
    const changed = event.target as HTMLElement;
    if (changed.closest(".sign")) return;
    unkept = true;
    say("Keeping what was typed");
    window.clearTimeout(waiting);
    waiting = window.setTimeout(keep, RESTS_MS);
  };
  form.addEventListener("input", soon);
  form.addEventListener("submit", (event) => {
    leaving = true;
    window.clearTimeout(waiting);
    if (!sending) return;
    // A draft on its way must not come after what is saved now.
    event.preventDefault();
    void sent.then(() => form.requestSubmit(event.submitter));
  });
  // Leaving by a link: what the hand wrote last goes along.
  window.addEventListener("pagehide", () => {
    if (leaving || !unkept) return;
    const body = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (typeof value === "string") body.append(name, value);
    void fetch(to, { method: "POST", body, keepalive: true });
  });
}

type Point = [number, number];

/** A pad to sign on: lines in its own units, kept in the form as they are drawn. */
function signOn(pad: HTMLElement, form: HTMLFormElement): void {
  const canvas = pad.querySelector("canvas");
  const field = form.querySelector<HTMLInputElement>('input[name="signature.drawn"]');
  const pen = canvas?.getContext("2d");
  if (!canvas || !field || !pen) return;
  let strokes: Point[][] = [];
  try {
    strokes = field.value ? (JSON.parse(field.value) as { strokes: Point[][] }).strokes : [];
  } catch {
    field.value = "";
  }
  const draw = () => {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    pen.lineWidth = 6;
    pen.lineCap = "round";
    pen.lineJoin = "round";
    pen.strokeStyle = getComputedStyle(canvas).color;
    for (const stroke of strokes) {
      pen.beginPath();
      stroke.forEach(([x, y], at) => (at === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y)));
      if (stroke.length === 1) pen.lineTo(stroke[0]![0], stroke[0]![1]);
      pen.stroke();
    }
  };
  const keep = () => {
    field.value = strokes.length > 0 ? JSON.stringify({ strokes }) : "";
  };
  const place = (event: PointerEvent): Point => {
    const box = canvas.getBoundingClientRect();
    const on = (at: number, from: number, size: number, most: number) =>
      Math.round(Math.min(Math.max((at - from) / size, 0), 1) * most);
    return [on(event.clientX, box.left, box.width, canvas.width), on(event.clientY, box.top, box.height, canvas.height)];
  };
  let down: number | null = null;
  canvas.addEventListener("pointerdown", (event) => {
    if (down !== null) return;
    down = event.pointerId;
    canvas.setPointerCapture(event.pointerId);
    strokes.push([place(event)]);
    draw();
    event.preventDefault();
  });
  canvas.addEventListener("pointermove", (event) => {
    const stroke = strokes.at(-1);
    if (event.pointerId !== down || !stroke) return;
    const [x, y] = place(event);
    const last = stroke.at(-1);
    if (last && last[0] === x && last[1] === y) return;
    stroke.push([x, y]);
    draw();
  });
  const up = (event: PointerEvent) => {
    if (event.pointerId !== down) return;
    down = null;
    keep();
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
  pad.querySelector("[data-clear]")?.addEventListener("click", () => {
    strokes = [];
    keep();
    draw();
  });
  draw();
}

export function talkPartByPart(): void {
  const form = document.querySelector<HTMLFormElement>("form[data-talk]");
  if (!form) return;
  keepDraft(form, form.dataset["talk"] ?? "");
  const pad = form.querySelector<HTMLElement>("[data-pad]");
  if (pad) signOn(pad, form);
  // The part that is open stands in sight where the line of parts is wider than the screen.
  form.querySelector<HTMLElement>(".talk-steps [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
}
