import { themed } from "./logic/chart-theme.js"

const PAPER = { width: 640, height: 320 } // px; fits between the margins of A4 and of Letter
const CONFIG = { responsive: true, displaylogo: false, displayModeBar: false, scrollZoom: false }

/** The drawing library comes by its own script tag and may be late on a slow line; undefined where it does not come. */
function library() {
  const script = document.querySelector("script[src*='plotly']")
  return new Promise((go) => {
    const tell = () => go(window.Plotly)
    if (window.Plotly || !script || document.readyState === "complete") return tell()
    for (const name of ["load", "error"]) script.addEventListener(name, tell)
    addEventListener("load", tell) // the script may have failed before this module came
  })
}

/** What a custom property of the root comes to: for a colour the one that is shown now, by day, by night or on paper. */
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

function figureOf(holder) {
  return JSON.parse(document.getElementById(holder.dataset.chart).textContent)
}

function draw(plotly, holder, figure, size = null) {
  const { data, layout } = themed(figure, token, size)
  return plotly.react(holder, data, layout, CONFIG)
}

/** On paper the light colours hold, whatever the screen shows. */
function drawForPaper(redraw) {
  const root = document.documentElement
  let chosen
  addEventListener("beforeprint", () => {
    chosen = root.dataset.theme
    root.dataset.theme = "light"
    redraw(PAPER)
  })
  addEventListener("afterprint", () => {
    if (chosen === undefined) delete root.dataset.theme
    else root.dataset.theme = chosen
    redraw()
  })
}

/**
 * Draw the figure whose JSON stands in the script element that `data-chart` names.
 *
 * The words around it (title, summary, table) are its text alternative and stay.
 */
export async function enhance(holder) {
  const wait = holder.querySelector("[data-chart-wait]")
  if (wait) wait.textContent = "Drawing the chart…"
  const plotly = await library()
  if (!plotly) {
    if (wait) wait.textContent = "The chart could not be drawn: its script did not arrive. Reload to try again."
    return
  }
  const figure = figureOf(holder)
  const redraw = (size) => holder.isConnected && draw(plotly, holder, figure, size)
  wait?.remove()
  await redraw()
  document.addEventListener("themechange", () => redraw())
  drawForPaper(redraw)
}
