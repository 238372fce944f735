import { localeOf } from "./logic/chart-locale.js"
import { themed } from "./logic/chart-theme.js"
import { gettext as _, spoken } from "./words.js"

const CONFIG = { responsive: true, displaylogo: false, displayModeBar: false, scrollZoom: false }
const WIDE = "(min-width: 900px)"
const AHEAD = "200px" // below the window, where a chart is about to come into view
const LOADED = new Map()

/** The drawing library, asked for once however many charts want it; undefined where it does not come. */
function library(address) {
  if (!LOADED.has(address)) LOADED.set(address, load(address))
  return LOADED.get(address)
}

function load(address) {
  return new Promise((go) => {
    const script = document.createElement("script")
    const end = () => {
      if (!window.Plotly) LOADED.delete(address) // the next press tries again
      go(window.Plotly)
    }
    script.addEventListener("load", end)
    script.addEventListener("error", end)
    script.src = address
    document.head.append(script)
  })
}

/** What a custom property of the root comes to: for a colour the one that is shown now, by day or by night. */
function token(name) {
  const root = document.documentElement
  const written = getComputedStyle(root).getPropertyValue(name).trim()
  return CSS.supports("color", written) ? asShown(root, name) : written
}

/** A property is kept as it was written; only a real one, here that of a stand-in, tells light from dark. */
function asShown(root, name) {
  const standIn = root.appendChild(document.createElement("i"))
  standIn.style.color = `var(${name})`
  const shown = getComputedStyle(standIn).color
  standIn.remove()
  return shown
}

function figureOf(frame) {
  return JSON.parse(document.getElementById(frame.dataset.chart).textContent)
}

function draw(plotly, plot, figure) {
  const { data, layout } = themed(figure, token)
  const words = spoken()
  return plotly.react(plot, data, layout, words ? { ...CONFIG, ...localeOf(words.language) } : CONFIG)
}

/** Put the chart that answers to the pointer in the place of its first picture, which stays for paper. */
async function open(chart) {
  const { frame, plot, ways } = chart
  const [button, says] = [ways.querySelector("button"), ways.querySelector("[role=status]")]
  says.textContent = _("Drawing the chart…")
  const plotly = await library(frame.dataset.library)
  if (!plot.hidden) return // asked for twice
  if (!plotly) return sayMissing(chart, says)
  const wasPressed = document.activeElement === button
  ways.hidden = true
  plot.hidden = false
  frame.dataset.opened = ""
  if (wasPressed) plot.focus()
  const figure = figureOf(frame)
  await draw(plotly, plot, figure)
  document.addEventListener("themechange", () => plot.isConnected && draw(plotly, plot, figure))
}

function sayMissing({ ways }, says) {
  says.textContent = _("The chart could not be drawn: its script did not arrive. The picture above shows the same.")
  ways.dataset.needed = ""
}

/** On a wide screen, as soon as it is seen. */
function whenSeen(chart) {
  const watch = new IntersectionObserver(
    (entries) => {
      if (!entries.some((entry) => entry.isIntersecting)) return
      watch.disconnect()
      open(chart)
    },
    { rootMargin: AHEAD },
  )
  watch.observe(chart.frame)
}

/**
 * Let the figure whose JSON stands in the script element that `data-chart` names answer to touch and pointer: on a
 * wide screen once it is seen, on a narrow one, or a line on which data are dear, when somebody asks.
 *
 * The server's picture and the words around it (title, summary, table) show the same and stay until then; the words
 * are its text alternative.
 */
export function enhance(frame) {
  const plot = frame.querySelector(".chart__plot")
  const ways = document.querySelector(`[data-chart-ways="${plot.id}"]`)
  const chart = { frame, plot, ways }
  ways.querySelector("button").addEventListener("click", () => open(chart))
  frame.querySelector("[data-chart-still]").addEventListener("click", () => open(chart))
  if (matchMedia(WIDE).matches && !navigator.connection?.saveData) whenSeen(chart)
  else ways.dataset.needed = ""
}
