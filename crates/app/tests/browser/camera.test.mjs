// The camera page: what it says while framing, the photo that is taken, and what happens
// where there is no camera. The camera is the browser's own stand-in, which plays a film
// made here from a photo of the chart: first a dark room, then the chart.
import assert from "node:assert/strict";
import { readFile, readdir, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { axe, fillClient, importSalon, newFolder, openBrowser, openPage, removeFolder, start } from "./support.mjs";

const photos = join(dirname(fileURLToPath(import.meta.url)), "../../../photo/tests/data");
// 800 across, 600 down; the chart at the left, the hair at the right.
const E06 = join(photos, "e06.jpg");
const E06_CHART = [[60.55, 202.9], [378.86, 224.23], [366.86, 439.69], [41.5, 416.85]];

let folder, salon, client;
const at = (path) => `${salon.address}${path}`;

before(async () => {
  folder = await newFolder();
  salon = await start("serve", "--data", join(folder, "salon"));
  const browser = await openBrowser();
  const { page, context } = await openPage(browser, salon.address);
  await importSalon(page, salon.address);
  await page.goto(at("/clients/new"));
  await fillClient(page, { "client.name": "Camera Probe" });
  await page.click("text=Read her colour");
  await page.waitForURL(/\/colour$/);
  client = new URL(page.url()).pathname.replace(/\/colour$/, "");
  await context.close();
  await browser.close();
});

after(async () => {
  await salon?.stop();
  if (folder) await removeFolder(folder);
});

/** A film of JPEGs, one after another. */
async function film(name, ...parts) {
  const path = join(folder, name);
  await writeFile(path, Buffer.concat(parts.flatMap(([picture, count]) => Array(count).fill(picture))));
  return path;
}

/**
 * A photo as a frame of a film: its codes lie between 16 and 235, as the browser takes those of
 * a film to do; `light` of 0.02 is a dark room.
 */
async function frame(file, light = 1) {
  const browser = await openBrowser();
  const { page, context } = await openPage(browser, salon.address);
  const drawn = await page.evaluate(async ([jpeg, share]) => {
    const image = new Image();
    image.src = `data:image/jpeg;base64,${jpeg}`;
    await image.decode();
    const canvas = new OffscreenCanvas(image.width, image.height);
    const pen = canvas.getContext("2d");
    const lit = (219 / 255) * share;
    const ground = Math.round(16 / (1 - lit));
    pen.fillStyle = `rgb(${ground} ${ground} ${ground})`;
    pen.fillRect(0, 0, image.width, image.height);
    pen.globalAlpha = lit;
    pen.drawImage(image, 0, 0);
    const bytes = new Uint8Array(await (await canvas.convertToBlob({ type: "image/jpeg", quality: 0.95 })).arrayBuffer());
    return btoa(bytes.reduce((text, byte) => text + String.fromCharCode(byte), ""));
  }, [(await readFile(file)).toString("base64"), light]);
  await context.close();
  await browser.close();
  return Buffer.from(drawn, "base64");
}

/** A browser whose camera plays a film; closed when the test ends, however it ends. */
async function withFilm(t, path) {
  const browser = await openBrowser(["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", `--use-file-for-fake-video-capture=${path}`]);
  t.after(() => browser.close());
  return openPage(browser, salon.address, { permissions: ["camera"], viewport: { width: 1024, height: 768 } });
}

test("it says what is wrong while framing, takes the photo when all is right, and the reading goes on", async (t) => {
  const { page, complaints } = await withFilm(t, await film("guide.mjpeg", [await frame(E06, 0.02), 150], [await frame(E06), 900]));
  await page.addInitScript(() => {
    const real = globalThis.fetch;
    let underWay = 0;
    globalThis.fetch = async (url, asked) => {
      underWay += 1;
      const looks = JSON.parse(sessionStorage.getItem("looks") ?? "[]");
      sessionStorage.setItem("looks", JSON.stringify([...looks, [asked.body.size, underWay]]));
      return real(url, asked).finally(() => (underWay -= 1));
    };
  });
  await page.goto(at(`${client}/colour`));
  await page.click("text=Open the camera");
  await page.uncheck("[data-by-itself]");
  await page.waitForFunction(() => /black/.test(document.querySelector("[data-advice]").textContent), undefined, { timeout: 20_000 });
  assert.equal(await page.locator("[data-checks] li").count(), 5);
  assert.equal(await page.locator("[data-checks] .open").count(), 3, "what cannot be told yet is not called right");
  await page.waitForFunction(() => /All is right/.test(document.querySelector("[data-advice]").textContent), undefined, { timeout: 30_000 });
  assert.deepEqual(await axe(page), []);
  assert.match(page.url(), /\/camera$/, "nothing is taken that she did not ask for");
  await page.check("[data-by-itself]");
  await page.waitForURL(/\/photos\//, { timeout: 30_000 });
  assert.match(await page.textContent('[data-says="chart"]'), /was found/);
  const found = await page.evaluate(() => ["x", "y"].map((axis) => [...document.querySelectorAll(`[name="chart.${axis}"]`)].map((input) => Number(input.value))));
  const size = await page.locator(".photo-stage img").evaluate((image) => [image.naturalWidth, image.naturalHeight]);
  for (const [i, corner] of E06_CHART.entries()) {
    const [x, y] = [found[0][i], found[1][i]].map((value, k) => (value * [800, 600][k]) / size[k]);
    assert.ok(Math.hypot(x - corner[0], y - corner[1]) < 14, `corner ${i} at ${x}, ${y}`);
  }
  const looks = await page.evaluate(() => JSON.parse(sessionStorage.getItem("looks")));
  assert.ok(looks.length >= 3 && looks.every(([bytes, underWay]) => bytes > 0 && bytes < 200_000 && underWay === 1), `frames are small, one at a time: ${looks}`);
  // The rest is the flow of every photo.
  while (await page.locator("[data-next]").isVisible()) await page.click("[data-next]");
  await page.click("[data-read]");
  await page.waitForURL(/\/readings\//, { timeout: 30_000 });
  assert.match(await page.textContent("h1"), /^\d+ pieces of S/);
  await page.goto(at(`${client}/colour`));
  assert.equal(await page.locator("#unread-title").count(), 0, "of all frames only the photo was kept");
  assert.deepEqual(complaints, []);
});

test("a photo may be taken at any time, and of all that was seen nothing else is kept", async (t) => {
  const { page, complaints } = await withFilm(t, await film("dark.mjpeg", [await frame(E06, 0.02), 90]));
  const bytes = async () => {
    // The records and the files beside them; that a page was asked for is noted in the log.
    const found = (await readdir(join(folder, "salon"), { recursive: true, withFileTypes: true })).filter((entry) => entry.isFile());
    const kept = found.map((entry) => join(entry.parentPath ?? entry.path, entry.name)).filter((path) => !path.includes("/log/"));
    const sizes = await Promise.all(kept.map(async (path) => (await readFile(path)).length));
    return sizes.reduce((sum, size) => sum + size, 0);
  };
  await page.goto(at(`${client}/colour/camera`));
  const before = await bytes();
  await page.waitForFunction(() => document.querySelectorAll("[data-checks] li").length === 5, undefined, { timeout: 20_000 });
  await page.waitForTimeout(1500);
  assert.equal(await bytes(), before, "looking writes nothing");
  await page.click("[data-take]");
  await page.waitForURL(/\/photos\//, { timeout: 30_000 });
  assert.match(await page.textContent(".faults"), /not found by itself/);
  await page.click("text=Throw this photo away");
  assert.deepEqual(complaints, []);
});

test("where there is no camera, or it may not be used, a photo is chosen as before", async () => {
  for (const [args, permissions, says] of [
    [["--use-fake-device-for-media-stream=device-count=0"], ["camera"], /No camera was found/],
    [["--use-fake-device-for-media-stream", "--deny-permission-prompts"], [], /told not to open/],
  ]) {
    const browser = await openBrowser(args);
    const { page, context, complaints } = await openPage(browser, salon.address, { permissions, viewport: { width: 390, height: 844 } });
    await page.goto(at("/settings/ring/camera"));
    await page.waitForSelector("[data-no-camera]:not([hidden])", { timeout: 20_000 });
    assert.match(await page.textContent("[data-why]"), says);
    assert.ok(!(await page.locator("[data-camera]").isVisible()));
    assert.deepEqual(await axe(page), []);
    assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= 390);
    await page.setInputFiles("#photo", E06);
    await page.click("text=Go on with this photo");
    await page.waitForURL(/\/photos\//);
    assert.deepEqual(complaints, []);
    await context.close();
    await browser.close();
  }
});

test("a frame that is none is answered in a sentence, and a large one not looked at", async () => {
  const browser = await openBrowser();
  const { page, context } = await openPage(browser, salon.address);
  await page.goto(at("/settings/ring/camera"));
  const ask = (query, body) => page.evaluate(async ([asked, base64]) => {
    const sent = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    const answer = await fetch(`/camera/look?${asked}`, { method: "POST", headers: { "content-type": "image/jpeg" }, body: sent });
    return { status: answer.status, said: await answer.json() };
  }, [query, body.toString("base64")]);
  const picture = await readFile(E06);
  for (const [body, status] of [[Buffer.alloc(0), 415], [Buffer.from("no picture"), 415], [picture.subarray(0, 9000), 422], [Buffer.alloc(1_200_000, 255), 413]]) {
    const { status: found, said } = await ask("finer=1", body);
    assert.equal(found, status);
    assert.match(said.says, /\.$/);
  }
  for (const nonsense of ["finer=NaN", "finer=-3&ring=yes", "finer=1e999", ""]) {
    const { status, said } = await ask(nonsense, picture);
    assert.equal(status, 200, nonsense);
    assert.ok(said.chart && said.checks.length === 5, nonsense);
  }
  await context.close();
  await browser.close();
});
