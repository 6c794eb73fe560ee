// The camera page: small frames go to this machine one at a time, what it says of them is
// shown, and the photo is taken when all is right or when she says so. It then goes the
// same way as a photo that was chosen.

/** What the program says of a frame. */
interface Look {
  size: [number, number];
  asked: [number, number][];
  chart: [number, number][] | null;
  hair: [number, number][];
  light: [[number, number], [number, number]] | null;
  checks: { what: string; good: boolean | null; says: string }[];
  fit: boolean;
  advice: string;
}

/** Where a browser can take a still that is finer than its moving picture. */
declare class ImageCapture {
  constructor(track: MediaStreamTrack);
  takePhoto(): Promise<Blob>;
}

/** The longer side of a frame that is looked at, in pixels. */
const FRAME = 640;
/** Between an answer and the next frame. */
const PAUSE_MS = 250;
/** After an answer that did not come. */
const LONG_PAUSE_MS = 2000;
/** How long a still may take before the moving picture's own is used. */
const LONGEST_STILL_MS = 4000;
/** So many looks in a row must find all right, with the chart no further off than a share of the frame. */
const LOOKS = 2;
const STILL = 0.015;

const MARKS = {
  true: "M3 8.5l3.5 3.5L13 4.5",
  false: "M8 2.5v7M8 12v1.5",
  null: "M3 8h10",
};

class Camera {
  private readonly video: HTMLVideoElement;
  private readonly canvas = document.createElement("canvas");
  private readonly advice: HTMLElement;
  private readonly checks: HTMLElement;
  private readonly takeButton: HTMLButtonElement;
  private readonly byItself: HTMLInputElement;
  private stream: MediaStream | undefined;
  private label = "";
  private inARow = 0;
  private before: [number, number][] | null = null;
  private taking = false;

  constructor(private readonly room: HTMLElement, private readonly form: HTMLFormElement) {
    const part = <T extends Element = HTMLElement>(selector: string): T => {
      const found = room.querySelector<T>(selector);
      if (!found) throw new Error(`the page has no ${selector}`);
      return found;
    };
    this.video = part("video");
    this.advice = part("[data-advice]");
    this.checks = part("[data-checks]");
    this.takeButton = part("[data-take]");
    this.byItself = part("[data-by-itself]");
    this.takeButton.addEventListener("click", () => void this.take());
    window.addEventListener("pagehide", () => this.close());
    // Coming back by the browser's own way finds the camera open again.
    window.addEventListener("pageshow", (event) => {
      if (event.persisted) window.location.reload();
    });
  }

  async open(): Promise<void> {
    const media = navigator.mediaDevices as MediaDevices | undefined;
    if (!media?.getUserMedia) {
      this.refuse("This browser opens the camera only for the program on this very machine. Take the photo with the camera’s own app and choose it below.");
      return;
    }
    this.room.hidden = false;
    try {
      const video = { facingMode: { ideal: "environment" }, width: { ideal: 3840 }, height: { ideal: 2160 } };
      this.stream = await media.getUserMedia({ video, audio: false });
    } catch (error) {
      const name = error instanceof DOMException ? error.name : "";
      this.refuse(
        name === "NotAllowedError"
          ? "The browser was told not to open the camera for this page. Allow it beside the address and load the page again, or choose a photo below."
          : name === "NotFoundError"
            ? "No camera was found on this machine. Take the photo with a phone and choose it below."
            : "The camera does not answer; another program may be using it. Close that one and load the page again, or choose a photo below.",
      );
      return;
    }
    this.label = this.stream.getVideoTracks()[0]?.label ?? "";
    this.stream.getVideoTracks()[0]?.addEventListener("ended", () => this.refuse("The camera was taken away. Load the page again, or choose a photo below."));
    this.video.srcObject = this.stream;
    await this.video.play().catch(() => undefined);
    this.takeButton.disabled = false;
    this.advice.textContent = "Lay the chart into its outline.";
    void this.watch();
  }

  private close(): void {
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = undefined;
  }

  private refuse(why: string): void {
    this.close();
    this.room.hidden = true;
    const notice = document.querySelector<HTMLElement>("[data-no-camera]");
    const says = notice?.querySelector<HTMLElement>("[data-why]");
    if (!notice || !says) return;
    says.textContent = why;
    notice.hidden = false;
  }

  /** Looks again and again, one frame under way at a time. */
  private async watch(): Promise<void> {
    while (this.stream && !this.taking) {
      let pause = PAUSE_MS;
      if (!document.hidden && this.video.videoWidth > 0) {
        try {
          const look = await this.look();
          if (look && this.stream && !this.taking) this.show(look);
        } catch {
          this.inARow = 0;
          this.advice.textContent = "The program does not answer. The photo can be taken all the same.";
          pause = LONG_PAUSE_MS;
        }
      }
      await new Promise((done) => window.setTimeout(done, pause));
    }
  }

  private async look(): Promise<Look | undefined> {
    const [wide, high] = [this.video.videoWidth, this.video.videoHeight];
    const scale = Math.min(1, FRAME / Math.max(wide, high));
    const frame = await this.picture(Math.round(wide * scale), Math.round(high * scale), 0.85);
    if (!frame) return undefined;
    const asked = new URLSearchParams({ finer: (1 / scale).toFixed(2), ring: this.room.dataset["ring"] ?? "" });
    const answer = await fetch(`/camera/look?${asked}`, { method: "POST", headers: { "content-type": "image/jpeg" }, body: frame });
    const said = (await answer.json()) as Look & { says?: string };
    if (!answer.ok) throw new Error(said.says ?? "refused");
    return said;
  }

  private async picture(width: number, height: number, quality: number): Promise<Blob | null> {
    this.canvas.width = width;
    this.canvas.height = height;
    this.canvas.getContext("2d")?.drawImage(this.video, 0, 0, width, height);
    return new Promise((done) => this.canvas.toBlob(done, "image/jpeg", quality));
  }

  private show(look: Look): void {
    this.draw(look);
    // Said aloud only when it changes.
    if (this.advice.textContent !== look.advice) this.advice.textContent = look.advice;
    this.room.classList.toggle("fit", look.fit);
    this.checks.replaceChildren(...look.checks.map((check) => this.line(check)));
    this.inARow = look.fit && (this.inARow === 0 || this.isStill(look)) ? this.inARow + 1 : look.fit ? 1 : 0;
    this.before = look.chart;
    if (this.inARow >= LOOKS && this.byItself.checked) void this.take();
  }

  private line(check: Look["checks"][number]): HTMLLIElement {
    const line = document.createElement("li");
    line.className = check.good === null ? "open" : check.good ? "good" : "care";
    const space = "http://www.w3.org/2000/svg";
    const mark = document.createElementNS(space, "svg");
    mark.setAttribute("viewBox", "0 0 16 16");
    mark.setAttribute("aria-hidden", "true");
    const path = document.createElementNS(space, "path");
    path.setAttribute("d", MARKS[`${check.good}`]);
    mark.append(path);
    const what = document.createElement("strong");
    what.textContent = check.what;
    const says = document.createElement("span");
    says.textContent = check.says;
    line.append(mark, what, says);
    return line;
  }

  private isStill(look: Look): boolean {
    const far = STILL * Math.max(...look.size);
    return Boolean(this.before && look.chart?.every(([x, y], at) => {
      const [p, q] = this.before?.[at] ?? [Infinity, Infinity];
      return Math.hypot(x - p, y - q) < far;
    }));
  }

  private draw(look: Look): void {
    const [wide, high] = look.size;
    const drawing = this.room.querySelector("svg");
    drawing?.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    const points = (corners: [number, number][]) => corners.map((corner) => corner.join(",")).join(" ");
    const set = (selector: string, corners: [number, number][] | null) => drawing?.querySelector(selector)?.setAttribute("points", corners ? points(corners) : "");
    set("[data-asked-chart]", look.chart ? null : look.asked);
    set("[data-asked-hair]", look.hair);
    set("[data-found]", look.chart);
    this.name("[data-name-chart]", look.chart ?? look.asked, look.size);
    this.name("[data-name-hair]", look.hair, look.size);
    const arrow = drawing?.querySelector<SVGLineElement>("[data-light]");
    arrow?.toggleAttribute("hidden", !look.light);
    if (!arrow || !look.light) return;
    const [[x1, y1], [x2, y2]] = look.light;
    for (const [name, value] of Object.entries({ x1, y1, x2, y2 })) arrow.setAttribute(name, String(value));
  }

  /** Writes a name into the upper left corner of what it names. */
  private name(selector: string, corners: [number, number][], [wide, high]: [number, number]): void {
    const says = this.room.querySelector<HTMLElement>(selector);
    if (!says) return;
    says.hidden = false;
    says.style.left = `${(100 * Math.max(0, Math.min(...corners.map(([x]) => x)))) / wide}%`;
    says.style.top = `${(100 * Math.max(0, Math.min(...corners.map(([, y]) => y)))) / high}%`;
  }

  /** Takes the photo and sends it the way a chosen one goes. */
  private async take(): Promise<void> {
    if (this.taking || !this.stream) return;
    this.taking = true;
    this.takeButton.disabled = true;
    this.advice.textContent = "Taken. Looking for the chart…";
    const taken = (await this.still()) ?? (await this.picture(this.video.videoWidth, this.video.videoHeight, 0.95));
    const input = this.form.querySelector<HTMLInputElement>("input[type=file]");
    if (!taken || !input) {
      this.taking = false;
      this.takeButton.disabled = false;
      this.advice.textContent = "The camera gave no picture. Take it once more.";
      void this.watch();
      return;
    }
    this.video.pause();
    const files = new DataTransfer();
    files.items.add(new File([taken], "camera.jpg", { type: taken.type || "image/jpeg" }));
    for (const other of this.form.querySelectorAll<HTMLInputElement>("input[type=file]")) other.value = "";
    input.files = files.files;
    // By it one camera is told from another where the picture itself does not say.
    const camera = document.createElement("input");
    [camera.type, camera.name, camera.value] = ["hidden", "camera", this.label];
    this.form.append(camera);
    this.form.requestSubmit();
  }

  /** A still as fine as the camera makes them, where the browser can ask for one. */
  private async still(): Promise<Blob | null> {
    const track = this.stream?.getVideoTracks()[0];
    if (!track || typeof ImageCapture === "undefined") return null;
    const late = new Promise<null>((done) => window.setTimeout(() => done(null), LONGEST_STILL_MS));
    try {
      const taken = await Promise.race([new ImageCapture(track).takePhoto(), late]);
      return taken && taken.size > 0 ? taken : null;
    } catch {
      return null;
    }
  }
}

export function openCamera(): void {
  const room = document.querySelector<HTMLElement>("[data-camera]");
  const form = document.querySelector<HTMLFormElement>("form[data-photo]");
  if (room && form) void new Camera(room, form).open();
}
