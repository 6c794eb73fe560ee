// The measuring page: a head entered by somebody who has never seen it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { axe, openPage, openSalon } from "./support.mjs";

let browser, salon, page, complaints, context, close, client;

before(async () => {
  ({ browser, salon, page, complaints, context, close } = await openSalon());
});

after(() => close?.());

const at = (path) => `${salon.address}${path}`;
const field = (name) => page.locator(`[name="head.${name}"]`);
const says = (name) => page.locator(`#head-${name}-says`);
const said = (name, words) => page.waitForFunction(
  ([id, text]) => document.getElementById(id)?.textContent.includes(text), [`head-${name}-says`, words]);
const size = async (name) => Number((await page.locator(".sizes div", { hasText: name }).locator("dd").textContent()).match(/\d+/)[0]);

test("the way from the facts to the pictures keeps what was typed", async () => {
  await page.goto(at("/clients/new"));
  await page.fill('[name="client.name"]', "Mira Probe");
  await page.fill('[name="hair.own_length_mm"]', "14 in");
  await page.click("text=Measure with pictures");
  await page.waitForURL(/\/measuring$/);
  client = page.url().replace("/measuring", "");
  await page.goto(client);
  assert.equal(await page.inputValue('[name="hair.own_length_mm"]'), "355.6", "a length with its unit is kept in millimetres");
});

test("every reading has its picture, told in words too", async () => {
  await page.goto(`${client}/measuring`);
  const pictures = page.locator(".reading .portrait");
  assert.equal(await pictures.count(), 15);
  for (const picture of await pictures.all()) {
    assert.ok((await picture.locator("desc").textContent()).length > 40);
    assert.ok((await picture.boundingBox()).height > 80);
  }
  assert.deepEqual(await axe(page), []);
});

test("a head is entered by keyboard alone, in the order of the hands, and takes shape", async () => {
  await page.goto(`${client}/measuring`);
  assert.match(await page.textContent("[data-shape]"), /dashed line is the mean head/);
  const focusOn = async (name) => {
    for (let step = 0; step < 40; step += 1) {
      if (await page.evaluate((wanted) => document.activeElement?.getAttribute("name") === wanted, `head.${name}`)) return;
      await page.keyboard.press("Tab");
    }
    assert.fail(`the keyboard never reaches ${name}`);
  };
  await focusOn("circumference_mm");
  await page.keyboard.type("56 cm");
  await page.waitForSelector(".sizes");
  assert.match(await page.textContent('[data-echo-for="head-circumference_mm"]'), /= 560/);
  await said("circumference_mm", "560 mm");
  const alone = await size("Length");
  const before = await page.locator("[data-shape] .views").innerHTML();
  await focusOn("hair_under_tape");
  await page.keyboard.press("ArrowLeft");
  await focusOn("ear_to_ear_over_crown_mm");
  await page.keyboard.type("345");
  await focusOn("front_hairline_to_tape_mm");
  await page.keyboard.type("88");
  await focusOn("tape_to_nape_hairline_mm");
  await page.keyboard.type("232");
  await focusOn("length_mm");
  await page.keyboard.type("202");
  await said("length_mm", "202 mm");
  await page.waitForFunction((old) => Number(document.querySelector(".sizes dd").textContent.match(/\d+/)[0]) > old + 5, alone);
  assert.ok(Math.abs((await size("Length")) - 202) <= 3, "a calliper's reading is all but the size");
  assert.notEqual(await page.locator("[data-shape] .views").innerHTML(), before);
  assert.deepEqual(await axe(page), []);
  await page.keyboard.press("Enter");
  await page.waitForURL(/saved=yes/);
  for (const [name, value] of [["circumference_mm", "560"], ["ear_to_ear_over_crown_mm", "345"], ["length_mm", "202"]]) {
    assert.equal(await field(name).inputValue(), value, name);
  }
  assert.equal(await page.inputValue('[name="client.name"]'), "Mira Probe", "her other facts are as they were");
});

test("inches read as millimetres are caught, and one tap puts it right", async () => {
  await page.goto(`${client}/measuring`);
  await field("circumference_mm").fill("22");
  await said("circumference_mm", "inches");
  assert.equal(await field("circumference_mm").getAttribute("aria-invalid"), "true");
  await page.click("text=Yes, 559 mm");
  assert.equal(await field("circumference_mm").inputValue(), "559");
  await said("circumference_mm", "559 mm. People have 475 to 654");
  assert.equal(await field("circumference_mm").getAttribute("aria-invalid"), null);
  await field("circumference_mm").fill("56");
  await said("circumference_mm", "centimetres");
});

test("nonsense in every field is told at each, saved nowhere and not lost", async () => {
  await page.goto(`${client}/measuring`);
  const readings = await page.locator(".reading input").evaluateAll((all) => all.map((input) => input.name));
  const nonsense = ["wide", "0", "-5", "NaN", "1e9", "5600000", "<b>", "12 parsecs"];
  // Where nothing or a little less than nothing is an answer, words are none.
  const signed = ["head.nape_corner_rise_mm", "head.behind_ear_bare_mm", "head.ear_line_back_mm"];
  const typed = (name, k) => (signed.includes(name) ? "lots" : nonsense[k % nonsense.length]);
  for (const [k, name] of readings.entries()) await page.fill(`[name="${name}"]`, typed(name, k));
  await page.waitForFunction((count) => document.querySelectorAll(".reading .says.wrong").length === count, readings.length);
  const [answer] = await Promise.all([
    page.waitForResponse((r) => r.request().method() === "POST" && r.url().endsWith("/measuring")),
    page.click("text=Save the measures"),
  ]);
  assert.equal(answer.status(), 422);
  assert.match(await page.textContent(".faults"), /Nothing was saved yet/);
  for (const [k, name] of readings.entries()) assert.equal(await page.inputValue(`[name="${name}"]`), typed(name, k));
  assert.equal(await page.locator(".reading .says.wrong").count(), readings.length);
  assert.deepEqual(await axe(page), []);
  await page.goto(client);
  assert.equal(await field("circumference_mm").inputValue(), "560", "what was saved before still is");
});

test("a tape that does not go with the others is named, and may stay", async () => {
  await page.goto(`${client}/measuring`);
  await field("length_mm").fill("");
  await field("ear_to_ear_over_crown_mm").fill("296");
  await said("ear_to_ear_over_crown_mm", "most likely wrong");
  assert.match(await page.textContent(".note"), /over the top/);
  await field("ear_to_ear_over_crown_mm").fill("345");
  await said("ear_to_ear_over_crown_mm", "345 mm. People");
  assert.equal(await page.locator(".note").count(), 0);
});

test("a small head goes on with a reason, and the reason is kept", async () => {
  await page.goto(`${client}/measuring`);
  for (const name of ["ear_to_ear_over_crown_mm", "front_hairline_to_tape_mm", "tape_to_nape_hairline_mm", "length_mm"]) await field(name).fill("");
  await field("circumference_mm").fill("468");
  await said("circumference_mm", "475 to 654");
  assert.ok((await page.locator(".sizes").count()) === 1, "the head is drawn while the reason is still to be written");
  await page.click("text=Write why it is right");
  await page.locator("#head-unusual_reason").fill("a child of six");
  await said("circumference_mm", "Kept because: a child of six");
  await page.click("text=Save the measures");
  await page.waitForURL(/saved=yes/);
  assert.equal(await field("unusual_reason").inputValue(), "a child of six");
  assert.equal(await field("circumference_mm").inputValue(), "468");
});

test("the form of all her facts judges the same readings in the same words while they are typed", async () => {
  const live = (name) => page.locator(`[data-says="head-${name}"]`);
  const told = (name, words) => page.waitForFunction(
    ([id, text]) => document.querySelector(`[data-says="${id}"]`)?.textContent.includes(text), [`head-${name}`, words]);
  await page.goto(`${client}/measuring`);
  await field("circumference_mm").fill("22");
  await said("circumference_mm", "inches");
  const words = (await says("circumference_mm").textContent()).trim();
  for (const [width, height] of [[1024, 768], [768, 1024]]) {
    await page.setViewportSize({ width, height });
    await page.goto(client);
    assert.equal(await live("circumference_mm").textContent(), "", "nothing is said before something is typed");
    await field("circumference_mm").fill("22");
    await told("circumference_mm", "inches");
    assert.equal((await live("circumference_mm").textContent()).trim(), words);
    assert.equal(await field("circumference_mm").getAttribute("aria-invalid"), "true");
    assert.match(await page.textContent("#head-circumference_mm-says .hint"), /Above the brows/, "how to measure stays");
    assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= width);
    assert.deepEqual(await axe(page), []);
    await page.click("text=Yes, 559 mm");
    assert.equal(await field("circumference_mm").inputValue(), "559");
    await told("circumference_mm", "559 mm. People have 475 to 654");
    assert.equal(await field("circumference_mm").getAttribute("aria-invalid"), null);
    await field("ear_to_ear_over_crown_mm").fill("296");
    await told("ear_to_ear_over_crown_mm", "most likely wrong");
  }
  // Other answers ask nothing.
  let asked = 0;
  page.on("request", (request) => (asked += request.url().endsWith("/measuring/check") ? 1 : 0));
  await page.fill('[name="hair.own_length_mm"]', "333");
  await page.waitForTimeout(400);
  assert.equal(asked, 0);
  // What was said when saving was refused goes as soon as the reading is put right.
  await field("circumference_mm").fill("wide");
  await page.click("button[value=save]");
  await page.waitForSelector(".field.refused #head-circumference_mm");
  await field("circumference_mm").fill("559");
  await told("circumference_mm", "559 mm");
  assert.equal(await page.locator("#head-circumference_mm-says .error").count(), 0);
  assert.equal(await field("circumference_mm").getAttribute("aria-invalid"), null);
});

test("two tablets cannot overwrite each other's head unseen", async () => {
  await page.goto(`${client}/measuring`);
  const other = await context.newPage();
  await other.goto(client);
  await other.fill('[name="hair.own_length_mm"]', "333");
  await other.click("button[value=save]");
  await other.waitForURL(/saved=/);
  await other.close();
  await field("circumference_mm").fill("555");
  const [answer] = await Promise.all([
    page.waitForResponse((r) => r.request().method() === "POST" && r.url().endsWith("/measuring")),
    page.click("text=Save the measures"),
  ]);
  assert.equal(answer.status(), 409);
  assert.equal(await field("circumference_mm").inputValue(), "555");
  await page.click("text=Save the measures");
  await page.waitForURL(/saved=yes/);
  assert.equal(await page.inputValue('[name="hair.own_length_mm"]'), "333", "theirs is kept");
  assert.equal(await field("circumference_mm").inputValue(), "555");
});

test("it fits every tablet and phone, light and dark", async () => {
  for (const [width, height] of [[768, 1024], [1024, 768], [390, 844], [320, 640]]) {
    for (const colorScheme of ["light", "dark"]) {
      const shown = await openPage(browser, salon.address, { viewport: { width, height }, colorScheme });
      await shown.page.goto(`${client}/measuring`);
      const wide = await shown.page.evaluate(() => document.documentElement.scrollWidth);
      assert.ok(wide <= width, `${wide} wide on ${width}`);
      assert.deepEqual(await axe(shown.page), [], `${width} ${colorScheme}`);
      assert.deepEqual(shown.complaints, []);
      await shown.context.close();
    }
  }
});

test("the page saves and judges without its script", async () => {
  const plain = await openPage(browser, salon.address, { javaScriptEnabled: false });
  await plain.page.goto(`${client}/measuring`);
  await plain.page.fill('[name="head.circumference_mm"]', "23");
  await plain.page.click("text=Save the measures");
  assert.match(await plain.page.textContent("#head-circumference_mm-says"), /inches/);
  await plain.page.fill('[name="head.circumference_mm"]', "22 in");
  await plain.page.click("text=Save the measures");
  assert.equal(await plain.page.inputValue('[name="head.circumference_mm"]'), "558.8");
  await plain.context.close();
});

test("no page broke its own policy or asked anyone else for anything", () => {
  assert.deepEqual(complaints, []);
});
