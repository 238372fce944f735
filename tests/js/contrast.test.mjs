/* WCAG 2.2: 4.5 for text (1.4.3), 3 for marks, borders of inputs and lines of charts (1.4.11). */
import assert from "node:assert/strict"
import { readFileSync } from "node:fs"
import { test } from "node:test"

const css = readFileSync(new URL("../../static/css/tokens.css", import.meta.url), "utf8")

function tokensOf(selector) {
  const body = css.slice(css.indexOf(`${selector} {`)).match(/\{([^}]*)\}/)[1]
  return Object.fromEntries([...body.matchAll(/(--[\w-]+):\s*([^;]+);/g)].map(([, name, value]) => [name, value.trim()]))
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

const LIGHT = tokensOf(":root")
const DARK = { ...LIGHT, ...tokensOf(':root[data-theme="dark"]') }

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
  for (const [pairs, least] of [[TEXT, 4.5], [MARKS, 3]]) {
    for (const [front, back] of pairs) {
      test(`${front} stands out from ${back} in the ${theme} theme`, () => {
        const ratio = contrast(tokens[`--${front}`], tokens[`--${back}`])

        assert.ok(ratio >= least, `${ratio.toFixed(2)} is under ${least}`)
      })
    }
  }
}

test("the device's dark and the chosen dark are the same", () => {
  assert.deepEqual(tokensOf(':root:not([data-theme="light"])'), tokensOf(':root[data-theme="dark"]'))
})

test("dark renews every colour of light", () => {
  const isColour = (value) => /^(#|rgba?\()/.test(value)
  const light = Object.keys(LIGHT).filter((name) => isColour(LIGHT[name]))

  assert.deepEqual(light.filter((name) => !(name in tokensOf(':root[data-theme="dark"]'))), [])
})
