const TOKEN = /^var\((--[\w-]+)\)$/

/**
 * A copy of a figure in which each "var(--token)" became the colour it stands for.
 *
 * The server names tokens instead of colours, so one figure serves both themes.
 *
 * @param node - any JSON value
 * @param {(token: string) => string} lookup - the colour of a custom property
 */
export function resolveColours(node, lookup) {
  if (typeof node === "string") return node.replace(TOKEN, (_, token) => lookup(token))
  if (Array.isArray(node)) return node.map((item) => resolveColours(item, lookup))
  if (node === null || typeof node !== "object") return node
  return Object.fromEntries(Object.entries(node).map(([key, value]) => [key, resolveColours(value, lookup)]))
}

function axis(lookup) {
  return {
    gridcolor: lookup("--chart-grid"),
    linecolor: lookup("--chart-soft"),
    zerolinecolor: lookup("--chart-grid"),
    tickcolor: lookup("--chart-soft"),
    ticks: "outside",
    automargin: true,
  }
}

/** What a figure looks like unless it says otherwise: our paper, ink, lines and order of colours. */
export function layoutTemplate(lookup) {
  const paper = lookup("--chart-paper")
  return {
    layout: {
      paper_bgcolor: paper,
      plot_bgcolor: paper,
      font: { color: lookup("--chart-ink"), family: lookup("--font-text"), size: 15 },
      colorway: [1, 2, 3, 4, 5, 6].map((n) => lookup(`--chart-${n}`)),
      xaxis: axis(lookup),
      yaxis: axis(lookup),
      margin: { l: 8, r: 8, t: 8, b: 8 },
      legend: { orientation: "h", y: -0.2 },
      hoverlabel: { bgcolor: lookup("--sheet-sunk"), font: { color: lookup("--chart-ink") } },
    },
  }
}

/** The figure as it is drawn now: colours resolved, our template beneath, as large as its holder. */
export function themed(figure, lookup) {
  const { data, layout = {} } = resolveColours(figure, lookup)
  const measured = { width: undefined, height: undefined, autosize: true }
  return { data, layout: { ...layout, template: layoutTemplate(lookup), ...measured } }
}
