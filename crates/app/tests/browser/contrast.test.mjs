// Every pair of colours that text or an edge is made of, light and dark.
// Source: WCAG 2.2, 1.4.3 (text, 4.5:1), 1.4.11 (edges of controls, 3:1), and the
// definitions of contrast ratio and relative luminance.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";

const css = await readFile(new URL("../../web/src/styles/tokens.css", import.meta.url), "utf8");
const [light, dark] = css.split("@media (prefers-color-scheme: dark)").map((part) =>
  Object.fromEntries([...part.matchAll(/--([a-z-]+): (#[0-9a-f]{6})/g)].map(([, name, value]) => [name, value])),
);

function luminance(hex) {
  const [r, g, b] = [1, 3, 5].map((at) => {
    const channel = parseInt(hex.slice(at, at + 2), 16) / 255;
    return channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

const ratio = (one, other) => {
  const [low, high] = [luminance(one), luminance(other)].sort((a, b) => a - b);
  return (high + 0.05) / (low + 0.05);
};

const grounds = ["ground", "sheet", "sunk", "accent-soft", "care-soft", "stop-soft"];
const text = [
  ...["ink", "quiet"].flatMap((ink) => grounds.map((ground) => [ink, ground])),
  ...["ground", "sheet", "sunk"].map((ground) => ["accent", ground]),
  ["accent-strong", "sunk"], ["on-accent", "accent"], ["on-accent", "accent-strong"],
  ["care", "care-soft"], ["care", "sheet"], ["care", "ground"], ["stop", "sheet"], ["stop", "stop-soft"], ["stop", "ground"],
];
const edges = [["edge", "sheet"], ["edge", "ground"], ["focus", "sheet"], ["focus", "ground"], ["accent", "accent-soft"], ["before", "sheet"]];

test("black on white is 21 to 1, as the standard defines it", () => {
  assert.equal(ratio("#000000", "#ffffff"), 21);
});

for (const [name, tokens] of [["light", light], ["dark", dark]]) {
  test(`${name}: text stands out from its ground`, () => {
    for (const [ink, ground] of text) {
      assert.ok(ratio(tokens[ink], tokens[ground]) >= 4.5, `${ink} on ${ground}: ${ratio(tokens[ink], tokens[ground]).toFixed(2)}`);
    }
  });
  test(`${name}: edges of controls are seen`, () => {
    for (const [edge, ground] of edges) {
      assert.ok(ratio(tokens[edge], tokens[ground]) >= 3, `${edge} on ${ground}: ${ratio(tokens[edge], tokens[ground]).toFixed(2)}`);
    }
  });
}
