/* WCAG 2.2: 7 for text (1.4.6), since it is read in the sun; 3 for marks, borders of inputs and lines of charts (1.4.11). */
import assert from "node:assert/strict"
import { readFileSync } from "node:fs"
import { test } from "node:test"

const css = readFileSync(new URL("../../static/css/tokens.css", import.meta.url), "utf8")

const tokens = [...css.matchAll(/^\s*(--[\w-]+):\s*([^;]+);/gm)].map(([, name, value]) => [name, value])
const COLOUR = String.raw`(#[0-9a-f]{6}|rgba\([^)]*\))`
const PAIR = new RegExp(`light-dark\\(${COLOUR}, ${COLOUR}\\)`, "g")
const isColour = (value) => new RegExp(COLOUR).test(value)

/** Every token as one theme shows it; 0 is by day, 1 by night. */
function theme(at) {
  const shown = (value) => value.replace(PAIR, (_, ...both) => both[at])
  return Object.fromEntries(tokens.map(([name, value]) => [name, shown(value)]))
}

function luminance(hex) {
  const parts = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16) / 255)
  const [r, g, b] = parts.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
  return 0.2126 * r + 0.7152 * g + 0.0722 * b
}

function contrast(a, b) {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y)
  return (high + 0.05) / (low + 0.05)
}

const LIGHT = theme(0)
const DARK = theme(1)

const TEXT = [
  ...["ground", "sheet", "sheet-sunk", "stone"].map((back) => ["ink", back]),
  ...["ground", "sheet", "sheet-sunk", "danger-fill"].map((back) => ["ink-soft", back]),
  ...["sheet", "sheet-sunk", "stone", "danger-fill"].map((back) => ["link", back]),
  ["stone-ink", "stone"],
  ["stone-ink", "stone-hover"],
  ["wet-ink", "wet"],
  ["wet-ink", "wet-hover"],
  ["danger", "sheet"],
  ["danger", "sheet-sunk"],
  ["danger", "danger-fill"],
  ["danger-ink", "danger"],
  ["ink", "danger-fill"],
  ...["well", "watch", "soon", "below", "untested"].map((state) => [`${state}-ink`, `${state}-fill`]),
  ...["well", "watch", "soon"].map((state) => [`${state}-ink`, "sheet"]),
  ["chart-ink", "chart-paper"],
  ["chart-soft", "chart-paper"],
]

const MARKS = [
  ["line-strong", "sheet"],
  ["line-strong", "sheet-sunk"],
  ["seep", "sheet"],
  ["mark", "stone"],
  ["focus-inner", "focus-outer"],
  ...["line", "limit", "cleaning", "test", "1", "2", "3", "4", "5", "6"].map((name) => [`chart-${name}`, "chart-paper"]),
]

for (const [theme, tokens] of Object.entries({ light: LIGHT, dark: DARK })) {
  for (const [pairs, least] of [[TEXT, 7], [MARKS, 3]]) {
    for (const [front, back] of pairs) {
      test(`${front} stands out from ${back} in the ${theme} theme`, () => {
        const ratio = contrast(tokens[`--${front}`], tokens[`--${back}`])

        assert.ok(ratio >= least, `${ratio.toFixed(2)} is under ${least}`)
      })
    }
  }
}

test("a token stands once, so that no second copy can differ", () => {
  const names = tokens.map(([name]) => name)

  assert.deepEqual(names.filter((name, at) => names.indexOf(name) !== at), [])
})

test("each colour of light has its own in dark, but for those that are meant for both", () => {
  const both = tokens.filter(([, value]) => isColour(value) && !value.includes("light-dark(")).map(([name]) => name)

  assert.deepEqual(both, ["--wet-ink", "--focus-inner"])
})

test("a theme chosen by hand is held by its colour scheme", () => {
  for (const chosen of ["light", "dark"]) {
    assert.match(css, new RegExp(`:root\\[data-theme="${chosen}"\\] \\{\\s+color-scheme: ${chosen};`))
  }
})
