// From a photo on her phone to whole pieces, and the ring they are chosen from.
// The photos are made ones with known truth: see crates/photo/tests/reading.rs.
import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { mkdir, readFile, truncate, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { axe, casebook, fillClient, importSalon, openPage, openSalon, waitForPlan } from "./support.mjs";
import * as support from "./support.mjs";

const photos = join(dirname(fileURLToPath(import.meta.url)), "../../../photo/tests/data");
const E06 = join(photos, "e06.jpg");
const H03 = join(photos, "h03.jpg");
// Where the hair lies in them, as the photos' maker states it.
const E06_HAIR = [[512.36, 68.36], [693.86, 76.56], [653.22, 528.76], [477.42, 523.64]];
const H05 = join(photos, "h05.jpg");
const H05_HAIR = [[108.93, 64.58], [317.02, 72.01], [317.8, 538.68], [108.18, 528.78]];
const E06_CHART = [[60.55, 202.9], [378.86, 224.23], [366.86, 439.69], [41.5, 416.85]];

let browser, folder, salon, page, complaints, context, close, client;

before(async () => {
  ({ browser, folder, salon, page, complaints, context, close } = await openSalon());
  await importSalon(page, salon.address);
});

after(() => close?.());

const sendPhoto = (...sent) => support.sendPhoto(page, ...sent);
const typeCorners = (...typed) => support.typeCorners(page, ...typed);
const at = (path) => `${salon.address}${path}`;
const here = () => new URL(page.url()).pathname;

async function corners(key) {
  return page.evaluate((name) => {
    const all = (axis) => [...document.querySelectorAll(`[name="${name}.${axis}"]`)].map((input) => Number(input.value));
    const [x, y] = [all("x"), all("y")];
    return x.map((value, i) => [value, y[i]]);
  }, key);
}

async function readColour() {
  while (await page.locator("[data-next]").isVisible()) await page.click("[data-next]");
  const [answer] = await Promise.all([page.waitForResponse((r) => r.request().method() === "POST"), page.click("[data-read]")]);
  await page.waitForLoadState();
  return answer.status();
}

/** Where a point of the photo is on the screen. */
async function onScreen([x, y]) {
  const box = await page.locator(".photo-stage img").boundingBox();
  const [width, height] = await page.locator("[data-marking]").evaluate((form) => [Number(form.dataset.width), Number(form.dataset.height)]);
  return [box.x + (x / width) * box.width, box.y + (y / height) * box.height];
}

const piecesIn = (text) => [...text.matchAll(/(\d+) (?:pieces? )?of (\S+?)(?=,| and |$)/g)].map(([, count, code]) => [code, Number(count)]);

test("what she typed is kept when she goes to read the colour", async () => {
  await page.goto(at("/clients/new"));
  await fillClient(page, { "client.name": "Colour Probe" });
  await page.click("text=Read her colour");
  await page.waitForURL(/\/colour$/);
  client = here().replace(/\/colour$/, "");
  assert.match(await page.textContent(".back"), /Colour Probe/);
  assert.deepEqual(await axe(page), []);
});

let reading;

test("a photo becomes whole pieces: the chart is found, the ends are marked by mouse", async () => {
  await sendPhoto(E06);
  assert.match(await page.textContent('[data-says="chart"]'), /was found/);
  for (const [i, corner] of (await corners("chart")).entries()) {
    assert.ok(Math.hypot(corner[0] - E06_CHART[i][0], corner[1] - E06_CHART[i][1]) < 12, `corner ${i} at ${corner}`);
  }
  assert.deepEqual(await axe(page), []);
  await page.click("[data-next]");
  for (const [i, corner] of E06_HAIR.entries()) {
    const ring = page.locator(".ring-handle.hair").nth(i);
    const box = await ring.boundingBox();
    const [x, y] = await onScreen(corner);
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await page.mouse.move(x + 9, y - 7);
    assert.ok(await page.locator(".loupe").isVisible(), "the magnifier shows while a ring is held");
    await page.mouse.move(x, y);
    await page.mouse.up();
  }
  for (const [i, corner] of (await corners("hair")).entries()) {
    assert.ok(Math.hypot(corner[0] - E06_HAIR[i][0], corner[1] - E06_HAIR[i][1]) < 3, `corner ${i} at ${corner}`);
  }
  assert.deepEqual(await axe(page), []);
  await page.click("[data-read]");
  await page.waitForURL(/\/readings\//);
  reading = here();
  await page.goto(at(`${reading}?pieces=20`));
  const told = piecesIn(await page.textContent("h1"));
  assert.equal(told.reduce((sum, [, count]) => sum + count, 0), 20, JSON.stringify(told));
  // The truth, L* 35.5, a* 12.9, b* 28.0, lies between these two of the ring; a third may
  // make up for what the reading is off by.
  assert.deepEqual(told.map(([code]) => code).slice(0, 2).sort(), ["S11", "S20"], JSON.stringify(told));
  assert.deepEqual(await axe(page), []);
});

test("her ends lie against the shades without a gap", async () => {
  await page.goto(at(reading));
  const patch = page.locator(".patch img");
  assert.ok(await patch.evaluate((image) => image.complete && image.naturalWidth > 20), "the corrected hair is shown");
  const left = await page.locator("div.patch").boundingBox();
  const shades = await page.locator(".candidates li").evaluateAll((all) => all.map((one) => one.getBoundingClientRect().toJSON()));
  assert.ok(shades.length >= 3);
  for (const shade of shades) assert.ok(Math.abs(shade.x - (left.x + left.width)) < 0.5, JSON.stringify([left, shade]));
  assert.ok(Math.abs(left.x) < 0.5 && Math.abs(shades[0].right - 768) < 0.5, "from edge to edge of the screen");
  await page.locator(".candidates a").nth(1).click();
  await page.waitForURL(/show=/);
  assert.equal(await page.locator(".candidates li").count(), 1);
});

test("the same photo and marks give the same colour on the command line", async () => {
  await page.goto(at(`${reading}?pieces=23`));
  const told = Object.fromEntries(piecesIn(await page.textContent("h1")));
  const files = join(folder, "for-the-command-line");
  await mkdir(files);
  const fetched = async (path) => (await page.request.get(at(path))).body();
  await writeFile(join(files, "ends.jpg"), await fetched(`${await page.locator('a[download$=".jpg"]').getAttribute("href")}`));
  await writeFile(join(files, "marks.json"), await fetched(`${reading}/marks.json`));
  const run = async (...args) => JSON.parse((await promisify(execFile)(process.env.STRANDWRIGHT_BIN, args, { cwd: files })).stdout);
  await writeFile(join(files, "reading.json"), JSON.stringify(await run("colour", "read", "ends.jpg", "--marks", "marks.json")));
  // Both know the same shelf: of mixes that do as well the one is advised that leaves least to buy.
  await writeFile(join(files, "stock.json"), await fetched("/settings/stock.json"));
  const found = await run("colour", "match", "--ring", join(casebook, "ring.json"), "--reading", "reading.json", "--pieces", "23", "--stock", "stock.json");
  const read = JSON.parse(await readFile(join(files, "reading.json"), "utf8"));
  const shown = (await page.textContent("#read")).replaceAll("−", "-");
  for (const part of read.lab_d65) assert.ok(shown.includes(part.toFixed(1)), `${part} in ${shown}`);
  assert.deepEqual(told, (found.advised ?? found.fewest).pieces);
});

test("a photo is kept upright with its colour profile and nothing else of its file", async () => {
  const file = join(photos, "h04.jpg");
  const sent = (await readFile(file)).toString("latin1");
  assert.ok(sent.includes("Exif\0") && sent.includes("ICC_PROFILE\0"), "there is something to take away, and something to keep");
  await page.goto(at(`${client}/colour`));
  await sendPhoto(file);
  // The file is 600 across and 800 down, and says that it lies on its side.
  assert.deepEqual(await page.locator(".photo-stage img").evaluate((image) => [image.naturalWidth, image.naturalHeight]), [800, 600]);
  const kept = (await (await page.request.get(at(`${here()}/picture`))).body()).toString("latin1");
  assert.ok(kept.startsWith("\xff\xd8\xff") && kept.includes("ICC_PROFILE\0"));
  // All that is left of it are 34 bytes that say which way is up.
  assert.equal(kept.slice(2, 6), "\xff\xe1\0\x22");
  assert.equal(kept.lastIndexOf("Exif\0"), 6);
});

test("a PNG is kept as it came, and taken out under its own name", async () => {
  const blank = await context.newPage();
  const drawn = await blank.evaluate(async (jpeg) => {
    const image = new Image();
    image.src = `data:image/jpeg;base64,${jpeg}`;
    await image.decode();
    const canvas = new OffscreenCanvas(image.width, image.height);
    canvas.getContext("2d").drawImage(image, 0, 0);
    const bytes = new Uint8Array(await (await canvas.convertToBlob({ type: "image/png" })).arrayBuffer());
    return btoa(bytes.reduce((text, byte) => text + String.fromCharCode(byte), ""));
  }, (await readFile(E06)).toString("base64"));
  await blank.close();
  const sent = Buffer.from(drawn, "base64");
  await page.goto(at(`${client}/colour`));
  await sendPhoto({ name: "ends.png", mimeType: "image/png", buffer: sent });
  const kept = await page.request.get(at(`${here()}/picture`));
  assert.equal(kept.headers()["content-type"], "image/png");
  assert.ok(sent.equals(await kept.body()), "every byte of a PNG that holds nothing but its picture is kept");
  assert.equal(await page.locator(".photo-stage img").evaluate((image) => image.naturalWidth), 800);
  await typeCorners("hair", E06_HAIR);
  await readColour();
  await page.waitForURL(/\/readings\//);
  const id = here().split("/").pop();
  assert.equal(await page.locator('a[href$="/picture"]').getAttribute("download"), `${id}.png`);
  assert.ok((await page.textContent("main")).includes(`readings/${id}.png`));
});

test("the reading makes her plan, and the plan names it", async () => {
  await page.goto(at(reading));
  await page.click("text=Use for her plan");
  await page.click("text=Make the plan");
  await waitForPlan(page);
  const told = page.locator("#colour .ends a");
  assert.match(await told.textContent(), /Her ends, read on/);
  assert.equal(await told.getAttribute("href"), reading);
  await page.goto(at(client));
  assert.ok(await page.isChecked('[name="colour.photo"]'));
  await page.click("button[value=save]");
  await page.waitForURL(/saved=/);
  assert.ok(await page.isChecked('[name="colour.photo"]'), "saving her other answers leaves the reading in force");
  await page.selectOption('[name="colour.shade"]', { index: 2 });
  assert.ok(!(await page.isChecked('[name="colour.photo"]')), "a shade by eye takes its place");
  await page.check('[name="colour.photo"]');
  await page.click("button[value=save]");
  await page.waitForSelector(".faults");
  assert.match(await page.textContent(".faults"), /Keep one of the three/);
});

test("marks that cannot be are refused in a sentence, and photo and marks are kept", async () => {
  await page.goto(at(`${client}/colour`));
  await sendPhoto(E06);
  const photo = here();
  const crossed = [E06_CHART[0], E06_CHART[2], E06_CHART[1], E06_CHART[3]];
  for (const [chart, hair, says] of [
    [crossed, E06_HAIR, /cross over/],
    [E06_CHART, E06_CHART, /lies on the chart/],
    [E06_CHART, [E06_HAIR[0], E06_HAIR[2], E06_HAIR[1], E06_HAIR[3]], /crosses itself/],
    [[E06_CHART[2], E06_CHART[3], E06_CHART[0], E06_CHART[1]], E06_HAIR, /./],
    [[[1, 1], [9, 1], [9, 9], [1, 9]], E06_HAIR, /too close together/],
  ]) {
    await page.goto(at(photo));
    await typeCorners("chart", chart);
    await typeCorners("hair", hair);
    assert.equal(await readColour(), 422);
    assert.match(await page.textContent(".faults"), says);
    assert.match(await page.textContent(".faults"), /photo and your marks are kept/);
    const rounded = (list) => list.map((corner) => corner.map((value) => Math.round(value * 10) / 10));
    assert.deepEqual(await corners("chart"), rounded(chart));
    await page.goto(at(photo));
    assert.deepEqual(await corners("hair"), rounded(hair), "they are there on another day too");
  }
  await typeCorners("chart", E06_CHART);
  await typeCorners("hair", E06_HAIR);
  await page.evaluate(() => { document.querySelector('[name="hair.y"]').value = "here"; });
  assert.equal(await readColour(), 422);
  assert.match(await page.textContent(".faults"), /Root side left/);
  await page.goto(at(photo));
  await page.click("text=Throw this photo away");
  await page.waitForURL(/\/colour$/);
  assert.equal((await page.request.get(at(photo))).status(), 404);
});

test("a photo without a chart says so, and is refused however it is marked", async () => {
  const board = await page.evaluate(async () => {
    const canvas = new OffscreenCanvas(600, 800);
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#8a8a86";
    pen.fillRect(0, 0, 600, 800);
    pen.fillStyle = "#5a3d20";
    pen.fillRect(200, 100, 180, 600);
    const blob = await canvas.convertToBlob({ type: "image/png" });
    return [...new Uint8Array(await blob.arrayBuffer())];
  });
  await page.goto(at(`${client}/colour`));
  await sendPhoto({ name: "board.png", mimeType: "image/png", buffer: Buffer.from(board) });
  assert.match(await page.textContent(".faults"), /not found by itself/);
  assert.deepEqual(await axe(page), []);
  assert.equal(await readColour(), 422);
  assert.match(await page.textContent(".faults"), /Not read yet/);
});

test("files that are no photo are refused in a sentence, on the page they were sent from", async () => {
  const jpeg = await readFile(E06);
  const heic = Buffer.concat([Buffer.from([0, 0, 0, 24]), Buffer.from("ftypheic\0\0\0\0mif1heic")]);
  const onePixel = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==", "base64");
  const huge = Buffer.from(onePixel);
  huge.writeUInt32BE(20000, 16);
  huge.writeUInt32BE(20000, 20);
  const cmyk = Buffer.from(jpeg);
  cmyk[cmyk.indexOf(Buffer.from([0xff, 0xc0])) + 9] = 4;
  await page.goto(at(`${client}/colour`));
  for (const [name, body, status, says] of [
    ["nothing", Buffer.alloc(0), 422, /Choose or take a photo first/],
    ["ends.jpg", Buffer.from("this is not a picture"), 415, /no JPEG, PNG or WebP/],
    ["ends.heic", heic, 415, /Most Compatible/],
    ["half.jpg", jpeg.subarray(0, jpeg.length >> 1), 422, /truncated/],
    ["dot.png", onePixel, 422, /only 1 x 1/],
    ["wide.png", huge, 422, /20000 x 20000/],
    ["print.jpg", cmyk, 422, /CMYK/],
  ]) {
    const answer = await page.evaluate(async ([path, file, base64]) => {
      const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
      const form = new FormData();
      form.append("file", new Blob([bytes]), file);
      const got = await fetch(path, { method: "POST", body: form });
      return { status: got.status, text: await got.text() };
    }, [`${client}/colour/photo`, name, body.toString("base64")]);
    assert.equal(answer.status, status, name);
    assert.match(answer.text, says, name);
    assert.match(answer.text, /Her colour/, "the page is still there");
  }
  const large = join(folder, "large.jpg");
  await writeFile(large, "");
  await truncate(large, 41_000_000);
  await page.setInputFiles("#photo", large);
  await page.click("text=Go on with this photo");
  assert.match(await page.textContent("[data-wrong]"), /41 MB, more than 40 MB/);
  assert.equal(here(), `${client}/colour`, "it is not sent at all");
});

test("the keyboard alone goes from the photo to the pieces", async () => {
  const focusOn = async (wanted) => {
    for (let step = 0; step < 200; step += 1) {
      await page.keyboard.press("Tab");
      if (await page.evaluate((text) => document.activeElement?.matches(text), wanted)) return;
    }
    assert.fail(`the keyboard never reaches ${wanted}`);
  };
  // Asked for before the page is opened, so that the browser's own dialog never opens first.
  const chosen = page.waitForEvent("filechooser");
  await page.goto(at(`${client}/colour`));
  await focusOn("#photo");
  await page.keyboard.press("Enter");
  await (await chosen).setFiles(E06);
  await focusOn("form[data-photo] button[type=submit]");
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/photos\//);
  await focusOn(".ring-handle.chart");
  assert.match(await page.evaluate(() => document.activeElement.getAttribute("aria-label")), /^Brown patch: \d+ across, \d+ down$/);
  await focusOn("[data-next]");
  await page.keyboard.press("Enter");
  assert.ok(await page.evaluate(() => document.activeElement.matches(".ring-handle.hair")), "the first ring of the ends has the focus");
  const before = await corners("hair");
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Shift+ArrowDown");
  const moved = await corners("hair");
  assert.ok(Math.abs(moved[0][0] - before[0][0] - 0.8) < 0.11, "a thousandth of the longer side");
  assert.ok(Math.abs(moved[0][1] - before[0][1] - 8) < 0.11, "with Shift ten times as far");
  assert.ok(await page.locator(".loupe").isVisible());
  await page.keyboard.press("Control+z");
  await page.keyboard.press("Control+z");
  assert.deepEqual(await corners("hair"), before);
  await page.waitForFunction(() => /Root side left/.test(document.querySelector("[data-heard]").textContent));
  for (const [i, corner] of E06_HAIR.entries()) {
    if (i > 0) await page.keyboard.press("Tab");
    const now = (await corners("hair"))[i];
    for (const [k, less, more] of [[0, "ArrowLeft", "ArrowRight"], [1, "ArrowUp", "ArrowDown"]]) {
      const far = corner[k] - now[k];
      for (let step = 0; step < Math.round(Math.abs(far) / 8); step += 1) await page.keyboard.press(`Shift+${far < 0 ? less : more}`);
    }
  }
  await focusOn("[data-read]");
  await page.keyboard.press("Enter");
  await page.waitForURL(/\/readings\//);
  assert.match(await page.textContent("h1"), /^\d+ pieces of S/);
});

test("a finger moves a ring on a phone, with the magnifier aside", async () => {
  await page.goto(at(reading));
  const photo = await page.locator("text=Mend the marks").getAttribute("href");
  const phone = await openPage(browser, salon.address, { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
  await phone.page.goto(at(photo));
  await phone.page.tap('[data-step="hair"]');
  const ring = phone.page.locator(".ring-handle.hair").nth(1);
  await ring.scrollIntoViewIfNeeded();
  const box = await ring.boundingBox();
  assert.ok(box.width >= 44 && box.height >= 44, "wide enough for a finger");
  const [x, y] = [box.x + box.width / 2 + 9, box.y + box.height / 2 + 6];
  const session = await phone.context.newCDPSession(phone.page);
  const touch = (type, points) => session.send("Input.dispatchTouchEvent", { type, touchPoints: points });
  const read = () => phone.page.locator('[name="hair.x"]').nth(1).inputValue();
  const before = Number(await read());
  const shown = await phone.page.locator(".photo-stage img").boundingBox();
  await touch("touchStart", [{ x, y }]);
  for (const step of [5, 10, 20]) await touch("touchMove", [{ x: x + step, y }]);
  assert.ok(await phone.page.locator(".loupe").isVisible());
  const loupe = await phone.page.locator(".loupe").boundingBox();
  const under = x + 20 > loupe.x && x + 20 < loupe.x + loupe.width && y > loupe.y && y < loupe.y + loupe.height;
  assert.ok(!under, `the magnifier is not under the finger: ${JSON.stringify([x, y, loupe])}`);
  await touch("touchEnd", []);
  assert.ok(!(await phone.page.locator(".loupe").isVisible()));
  // It moves as far as the finger does, wherever on the ring the finger was set.
  assert.ok(Math.abs(Number(await read()) - before - (20 * 800) / shown.width) < 2.5);
  assert.equal(await phone.page.evaluate(() => document.documentElement.scrollWidth), 390);
  assert.deepEqual(phone.complaints, []);
  await phone.context.close();
});

test("a second light is checked on ends and swatch together", async () => {
  await page.goto(at(reading));
  await sendPhoto(E06, "#second");
  await typeCorners("hair", E06_HAIR);
  assert.equal(await readColour(), 422);
  assert.match(await page.textContent(".faults"), /which shade the swatch/);
  await typeCorners("swatch", [[520, 120], [640, 300]]);
  await page.evaluate(() => document.querySelector('[data-step="swatch"]').click());
  await page.fill('[name="swatch.code"]', "S11");
  await readColour();
  await page.waitForURL(/\/readings\//);
  assert.equal(here(), reading);
  // The same hair was marked as the swatch: in this light the two cannot differ.
  assert.match(await page.textContent("#lights .notice.good"), /S11.*Holds/s);
  assert.deepEqual(await axe(page), []);
});

test("swatches beside her ends are ranked in one photo, and alike ones are said to be", async () => {
  await page.goto(at(`${client}/colour`));
  await sendPhoto(E06);
  await typeCorners("hair", E06_HAIR);
  await page.click("[data-next]");
  await page.click("[data-add-swatch]");
  await page.click("[data-add-swatch]");
  assert.equal(await page.locator(".swatch-line").count(), 2);
  // Two parts of one hair: no photo tells them apart.
  await typeCorners("swatch", [[520, 120], [640, 300], [500, 310], [620, 500]]);
  await page.locator('[name="swatch.code"]').nth(0).fill("S11");
  await page.locator('[name="swatch.code"]').nth(1).fill("S11");
  assert.equal(await readColour(), 422);
  assert.match(await page.textContent(".faults"), /each its own/);
  await page.evaluate(() => document.querySelector('[data-step="swatch"]').click());
  await page.locator('[name="swatch.code"]').nth(1).fill("S05");
  await readColour();
  await page.waitForURL(/\/readings\//);
  assert.equal(await page.locator("#ranked .ranked li").count(), 2);
  assert.match(await page.textContent("#ranked"), /cannot tell it from S(11|05)/);
  assert.equal(await page.locator("#ranked .tag").count(), 1);
  assert.deepEqual(await axe(page), []);
});

test("readings over her visits tell how her colour has moved", async () => {
  await page.goto(at(`${client}/colour`));
  const count = await page.locator(".visits li").count();
  await sendPhoto(H05);
  await typeCorners("hair", H05_HAIR);
  await readColour();
  await page.waitForURL(/\/readings\//);
  assert.equal(await page.locator(".tones li").count(), 2, "two tones lie in this hair");
  await page.goto(at(`${client}/colour`));
  assert.equal(await page.locator(".visits li").count(), count + 1, "a second light is no visit");
  // L* 48.6 now, 35.5 at first: truth of the two photos.
  assert.match(await page.locator(".visits li").last().textContent(), /from the first: lighter/);
  assert.match(await page.locator(".visits li").first().textContent(), /In her plan/);
  assert.deepEqual(await axe(page), []);
});

test("an instrument's file is a reading too, and spectra show the match in other lights", async () => {
  const spectrum = (height) => Array.from({ length: 31 }, (_, i) => (0.02 + height * i * i * 0.0002).toFixed(5));
  const heading = `name,${Array.from({ length: 31 }, (_, i) => `nm${400 + 10 * i}`).join(",")}`;
  const file = (name, text) => ({ name, mimeType: "text/csv", buffer: Buffer.from(text) });
  const ring = await (await page.request.get(at("/settings/ring.json"))).text();
  await page.goto(at("/settings/ring"));
  await page.setInputFiles("#ring-file", file("shades.csv", `${heading}\nI01,${spectrum(1).join(",")}\nI02,${spectrum(1.6).join(",")}\n`));
  await page.click("text=Import ring");
  await page.waitForSelector("text=2 shades");
  assert.equal(await page.locator("#ring .tag", { hasText: "spectrum" }).count(), 2);

  await page.goto(at(`${client}/colour`));
  await page.setInputFiles("#instrument", file("ends.csv", "L,a,b\n30,8,18\n"));
  await page.click("text=Take this file");
  assert.match(await page.textContent(".faults"), /does not say the light/);
  await page.setInputFiles("#instrument", file("ends.csv", `${heading}\nroots,${spectrum(0.4).join(",")}\nends,${spectrum(1.3).join(",")}\n`));
  await page.click("text=Take this file");
  assert.match(await page.textContent(".faults"), /2 readings/);
  assert.deepEqual(await axe(page), []);
  await page.locator(".samples button", { hasText: "ends" }).click();
  await page.waitForURL(/\/readings\//);
  assert.match(await page.textContent("h1"), /I0/);
  assert.equal(await page.locator("#lights tbody tr").count(), 4);
  const inDaylight = await page.locator(".candidates").innerHTML();
  await page.click("text=Warm bulb in the evening");
  assert.match(await page.textContent(".lights [aria-current]"), /Warm bulb/);
  assert.notEqual(await page.locator(".candidates").innerHTML(), inDaylight);
  const [row] = await page.locator("#lights tbody tr", { hasText: "Warm bulb" }).allTextContents();
  const [laid] = await page.locator(".candidates span").allTextContents();
  assert.ok(row.includes(laid), `the mix laid beside says ${laid}, the table ${row}`);
  assert.deepEqual(await axe(page), []);
  await page.click("text=Use for her plan");
  assert.match(await page.textContent(".actions .tag"), /Her plan is made with it/);
  await page.goto(at(client));
  assert.notEqual(await page.inputValue('[name="colour.lab_d65.l"]'), "", "her facts hold the numbers");
  await page.goto(at("/settings/ring"));
  await page.setInputFiles("#ring-file", { name: "ring.json", mimeType: "application/json", buffer: Buffer.from(ring) });
  await page.check('[name="how"][value="add"]');
  await page.click("text=Import ring");
  await page.waitForSelector("text=S24");
  assert.equal(await page.locator("#ring .tag", { hasText: "spectrum" }).count(), 2, "what was there stays");
});

test("a shade by eye takes the place of what was in force", async () => {
  await page.goto(at(`${client}/colour`));
  await page.click("text=Use this shade");
  assert.match(await page.textContent(".faults"), /No shade was chosen/);
  await page.selectOption("#eye", "S07");
  await page.click("text=Use this shade");
  await page.waitForSelector(".in-force");
  assert.match(await page.textContent(".in-force"), /By eye: S07|by eye: S07/);
});

test("the ring is measured from a photo, several swatches at once", async () => {
  await page.goto(at("/settings/ring"));
  await sendPhoto(H03, "#swatches");
  const photo = here();
  await page.click("[data-next]");
  assert.deepEqual(await axe(page), []);
  await page.click("[data-add-swatch]");
  await page.click("[data-add-swatch]");
  assert.equal(await page.locator(".swatch-line").count(), 3);
  await page.locator("[data-remove-mark]").last().click();
  await typeCorners("swatch", [[135, 380], [290, 490], [145, 390], [300, 500]]);
  assert.equal(await readColour(), 422);
  assert.match(await page.textContent(".faults"), /code of swatch 1/);
  await page.click("[data-next]");
  await page.locator('[name="swatch.code"]').nth(0).fill("S07");
  await page.locator('[name="swatch.code"]').nth(1).fill("N25");
  await readColour();
  await page.waitForURL(/measured$/);
  assert.equal(await page.locator(".ring li").count(), 2);
  assert.match(await page.locator(".ring li").first().textContent(), /replaces the one on the ring/);
  assert.deepEqual(await axe(page), []);
  await page.click("text=Put these 2 on the ring");
  await page.waitForURL(/settings\/ring$/);
  const line = page.locator("#ring li", { hasText: "S07" });
  assert.match(await line.textContent(), /Barley/, "a shade measured again keeps its name");
  assert.match(await line.textContent(), /Photo of .*sure to \d/);
  // Two boxes over one place: nearer to each other than a photo is sure.
  assert.match(await page.textContent(".notice.care"), /S07 and N25/);
  assert.deepEqual(await axe(page), []);
  await page.goto(at(photo));
  assert.equal(await page.locator(".swatch-line").count(), 2, "the marks are kept");
});

test("shades are changed one by one, given out as a table and taken in again", async () => {
  await page.goto(at("/settings/ring"));
  await page.click('[aria-label="Change S05"]');
  await page.fill('#shade [name="name"]', "Hazel, dark");
  await page.fill('#shade [name="uncertainty"]', "0.8");
  await page.click("#shade button[type=submit]");
  assert.match(await page.locator("#ring li", { hasText: "S05" }).textContent(), /Hazel, dark.*L\* 29.5.*Sure to 0.8/s);
  await page.click('[aria-label="Take S24 off the ring"]');
  const [download] = await Promise.all([page.waitForEvent("download"), page.click("text=Export as CSV")]);
  const table = await readFile(await download.path(), "utf8");
  assert.match(table, /^code,name,L,a,b,measured_by,uncertainty_de00\n/);
  assert.ok(table.includes('S05,"Hazel, dark",29.5,8.5,18.5,,0.8'));
  assert.ok(!table.includes("S24"));
  const before = await page.locator("#ring li").count();
  await page.setInputFiles("#ring-file", { name: "ring.csv", mimeType: "text/csv", buffer: Buffer.from(table) });
  await page.click("text=Import ring");
  await page.waitForURL(/settings\/ring$/);
  assert.equal(await page.locator("#ring li").count(), before);
  for (const [body, says] of [["{", /not a ring/], ["code,L,a,b\nX1,one,2,3\n", /Line 2/], ["\u0000\u0001", /no instrument file/], ["", /Choose a file first/]]) {
    await page.setInputFiles("#ring-file", { name: "ring.csv", mimeType: "text/csv", buffer: Buffer.from(body) });
    await page.click("text=Import ring");
    await page.waitForSelector(".faults");
    assert.match(await page.textContent(".faults"), says);
    assert.equal(await page.locator("#ring li").count(), before, "the ring is as it was");
  }
});

test("what the ring cannot reach is said plainly", async () => {
  await page.goto(at("/settings/ring"));
  const red = { shades: [{ code: "R1", name: "Poppy", lab_d65: [45, 60, 40] }, { code: "R2", name: "Plum", lab_d65: [20, 30, -5] }] };
  const before = await (await page.request.get(at("/settings/ring.json"))).text();
  const put = async (text) => {
    await page.setInputFiles("#ring-file", { name: "ring.json", mimeType: "application/json", buffer: Buffer.from(text) });
    await page.click("text=Import ring");
    await page.waitForURL(/settings\/ring$/);
  };
  await put(JSON.stringify(red));
  await page.goto(at(reading));
  assert.equal(await page.textContent("h1"), "Not reachable with this ring");
  assert.match(await page.textContent(".notice.stop"), /No mix comes near enough/);
  assert.deepEqual(await axe(page), []);
  await page.goto(at("/settings/ring"));
  await put(before);
});

test("no page of colour needs more width than a narrow phone has, light or dark", async () => {
  const photo = await (async () => { await page.goto(at(reading)); return page.locator("text=Mend the marks").getAttribute("href"); })();
  for (const colorScheme of ["light", "dark"]) {
    const narrow = await openPage(browser, salon.address, { viewport: { width: 320, height: 640 }, colorScheme });
    for (const path of [`${client}/colour`, photo, reading, "/settings/ring", "/settings/phones", `${client}/colour/camera`]) {
      await narrow.page.goto(at(path));
      const wide = await narrow.page.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(wide <= 320, `${path} is ${wide} wide`);
      assert.deepEqual(await axe(narrow.page), [], `${path} ${colorScheme}`);
    }
    await narrow.context.close();
  }
});

test("without the script a photo is marked by its numbers and read", async () => {
  const plain = await openPage(browser, salon.address, { javaScriptEnabled: false });
  await plain.page.goto(at(`${client}/colour`));
  await plain.page.setInputFiles("#photo", E06);
  await plain.page.click("text=Go on with this photo");
  for (const [i, corner] of E06_HAIR.entries()) {
    for (const [k, axis] of ["x", "y"].entries()) await plain.page.locator(`[name="hair.${axis}"]`).nth(i).fill(String(corner[k]));
  }
  await plain.page.click("[data-read]");
  await plain.page.waitForURL(/\/readings\//);
  assert.match(await plain.page.textContent("h1"), /^\d+ pieces of [A-Z]\d+/);
  await plain.context.close();
});

test("no page of colour broke its own policy or asked anyone else for anything", () => {
  assert.deepEqual(complaints.filter((text) => !text.includes("about:blank")), []);
});
