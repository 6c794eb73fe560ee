// The program in a browser: starts a salon of its own, opens pages, watches the console.
import { spawn } from "node:child_process";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const require = createRequire(import.meta.url);
const axeSource = await readFile(require.resolve("axe-core/axe.min.js"), "utf8");

export const casebook = join(dirname(fileURLToPath(import.meta.url)), "../../../../casebook");

const program = process.env.STRANDWRIGHT_BIN;
if (!program) throw new Error("STRANDWRIGHT_BIN must name the program");

const browserPath = process.env.STRANDWRIGHT_CHROMIUM ?? "/usr/bin/chromium";
const flags = [
  "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];

export async function openBrowser(more = []) {
  return chromium.launch({ executablePath: browserPath, args: [...flags, ...more] });
}

export async function newFolder() {
  return mkdtemp(join(tmpdir(), "strandwright-test-"));
}

export async function removeFolder(folder) {
  await rm(folder, { recursive: true, force: true });
}

/** Starts the program and waits for the address it prints. */
export async function start(...args) {
  const child = spawn(program, args.includes("--listen") ? args : [...args, "--listen", "127.0.0.1:0"], { stdio: ["ignore", "pipe", "pipe"] });
  let told = "";
  child.stderr.on("data", (chunk) => (told += chunk));
  const address = await new Promise((resolve, reject) => {
    let text = "";
    child.stdout.on("data", (chunk) => {
      text += chunk;
      const found = text.match(/http:\/\/\S+/);
      if (found) resolve(found[0]);
    });
    child.once("exit", (code) => reject(new Error(`the program ended with ${code}: ${told}`)));
  });
  const ended = new Promise((resolve) => child.once("exit", (code, signal) => resolve({ code, signal })));
  return {
    address,
    told: () => told,
    stop: async (signal = "SIGTERM") => {
      child.kill(signal);
      return ended;
    },
  };
}

/** A page that remembers what the console complained of and every foreign request. */
export async function openPage(browser, address, options = {}) {
  const context = await browser.newContext({ viewport: { width: 768, height: 1024 }, acceptDownloads: true, ...options });
  const page = await context.newPage();
  const complaints = [];
  page.on("console", (message) => {
    const refused = message.text().startsWith("Failed to load resource: the server responded with a status of 4");
    // Advice of the machine's own drawing, not of the page.
    const driver = message.text().includes("GL Driver Message (OpenGL, Performance");
    if (["error", "warning"].includes(message.type()) && !refused && !driver) complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  page.on("dialog", (dialog) => {
    if (dialog.type() !== "beforeunload") complaints.push(`a dialog: ${dialog.message()}`);
    dialog.accept();
  });
  page.on("request", (request) => {
    if (!request.url().startsWith(address)) complaints.push(`a request to ${request.url()}`);
  });
  return { page, context, complaints };
}

/** A salon in a folder of its own, open in a browser of its own; `close` ends and removes all of it
 *  (told of the program that runs now, where a test started it anew). */
export async function openSalon(more = []) {
  const opened = { browser: await openBrowser(more) };
  opened.close = async (running = opened.salon) => {
    await opened.context?.close();
    await opened.browser.close();
    await running?.stop();
    if (opened.folder) await removeFolder(opened.folder);
  };
  try {
    opened.folder = await newFolder();
    opened.salon = await start("serve", "--data", opened.folder);
    return Object.assign(opened, await openPage(opened.browser, opened.salon.address));
  } catch (fault) {
    await opened.close();
    throw fault;
  }
}

/** What axe-core finds wrong with a page. */
export async function axe(page) {
  // Injected as text: a script element would be refused by the page's own policy.
  await page.evaluate(axeSource);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document));
  return violations.map((violation) => `${violation.id}: ${violation.nodes.map((node) => node.target.join(" ")).join(", ")}`);
}

export async function choose(page, name, value) {
  await page.locator(`input[name="${name}"][value="${value}"]`).check();
}

/** The least that a plan needs, typed as a technician would. */
export async function fillClient(page, more = {}) {
  const typed = {
    "client.name": "Ada Probe",
    "client.age_years": "30",
    "hair.density_per_cm2": "180",
    "hair.own_length_mm": "350",
    "head.circumference_mm": "560",
    ...more,
  };
  for (const [name, value] of Object.entries(typed)) await page.fill(`[name="${name}"]`, value);
  for (const [name, value] of [
    ["consultation.consent", "true"], ["consent.health", "true"], ["consultation.had_extensions", "true"], ["consultation.reacted_before", "false"],
    ["consultation.allergies", "none"], ["consultation.scalp", "none"], ["consultation.health", "none"],
    ["consultation.ties_up", "sometimes"], ["hair.strand", "medium"], ["hair.ends", "blunt"], ["hair.oil", "normal"],
    ["hair.processed", "none"], ["hair.texture", "straight"],
    ["consultation.goal", "thickness"], ["consultation.fullness", "natural"], ["consultation.styles", "down"],
    ["consultation.styles", "low_ponytail"], ["consultation.part", "centre"],
  ]) await choose(page, name, value);
}

export async function importSalon(page, address) {
  await page.goto(`${address}/settings`);
  await page.fill('[name="house.name"]', "Test Chair");
  for (const [name, value] of [
    ["prices.currency", "EUR"], ["prices.hour_minor", "60.00"], ["prices.tape_tab_minor", "0.35"],
    ["pieces.tab_width_mm", "40"], ["pieces.tab_height_mm", "9"], ["pieces.mass_g", "2.5"],
    ["pieces.lengths_mm", "350 450 500 550 600"],
  ]) await page.fill(`[name="${name}"]`, value);
  await page.click("#house button[type=submit]");
  await page.goto(`${address}/settings/ring`);
  await page.setInputFiles("#ring-file", join(casebook, "ring.json"));
  await page.click("text=Import ring");
  await page.waitForSelector("#ring .ring li");
  await page.goto(`${address}/settings`);
  await page.setInputFiles("#stock input[type=file]", join(casebook, "stock.json"));
  await page.click("text=Import stock");
  await page.waitForSelector("#stock table");
}

export async function waitForPlan(page) {
  await page.waitForURL(/\/plans\/[0-9a-f-]+/, { timeout: 60_000 });
}

export async function sendPhoto(page, file, input = "#photo") {
  await page.setInputFiles(input, file);
  await page.locator("form", { has: page.locator(input) }).locator("button[type=submit]").click();
  await page.waitForURL(/\/photos\/[0-9a-f-]+$/);
}

/** Types a mark's corners, as one may without moving a ring. */
export async function typeCorners(page, key, corners) {
  await page.evaluate(([name, list]) => {
    for (const [k, axis] of ["x", "y"].entries()) {
      document.querySelectorAll(`[name="${name}.${axis}"]`).forEach((input, i) => {
        if (!list[i]) return;
        input.value = String(list[i][k]);
        input.dispatchEvent(new Event("input", { bubbles: true }));
      });
    }
  }, [key, corners]);
}
