import { hints, rateSoFar } from "./logic/field-tests.js"
import { boundSign, PROCEDURES, threeDigits } from "./logic/ring-test.js"
import { enhanceStopPonded } from "./stop-ponded.js"

const ONCE = ["leak_seen"]

/** Reads the fields of a form made from a method's entries. */
class Fields {
  prefix = ""

  constructor(form) {
    this.form = form
  }

  text(name) {
    return new FormData(this.form).get(name) ?? ""
  }

  watch(name) {
    return this.form.querySelector(`[data-stopwatch="${CSS.escape(name)}"]`)
  }

  system() {
    const chosen = this.text("unit_system")
    return chosen in PROCEDURES ? chosen : "si"
  }
}

function valueOf(input) {
  if (input.type === "checkbox") return input.checked
  const text = input.value.trim().replace(",", ".")
  return text === "" || !Number.isFinite(Number(text)) ? null : Number(text)
}

/** Entries made once, and those of each run, by key. */
function readings(form) {
  const once = {}
  const runs = new Map()
  for (const input of form.elements) {
    const run = /^run(\d+)_(.+)$/.exec(input.name)
    if (run) runs.set(run[1], { ...runs.get(run[1]), [run[2]]: valueOf(input) })
    else if (input.dataset.entry || input.type === "checkbox" || ONCE.includes(input.name)) once[input.name] = valueOf(input)
  }
  return { once, runs: [...runs.values()] }
}

function part(tag, className, text) {
  return Object.assign(document.createElement(tag), { className, textContent: text })
}

function showUnits(form, system) {
  for (const label of form.querySelectorAll("[data-unit-pair]")) {
    const [si, us] = label.dataset.unitPair.split("|")
    label.textContent = system === "us" ? us : si
  }
}

function showRate(box, rate, system, sign) {
  box.hidden = rate === null
  if (rate === null) return
  const { units, mmPerHour } = PROCEDURES[system]
  const value = part("span", "live-rate__value", `${sign} ${threeDigits(rate / mmPerHour)} `.trimStart())
  value.append(part("span", "unit", units.rate))
  box.replaceChildren(part("span", "soft", "Rate as this method measures it"), value)
}

function showHints(list, found) {
  if (list.dataset.shown === found.join("\n")) return
  list.dataset.shown = found.join("\n")
  list.replaceChildren(...found.map((message) => part("li", "", message)))
}

/** Guide a test by another method than the ring: units, the rate so far, what is still missing. */
export function enhance(form) {
  const fields = new Fields(form)
  const rateBox = form.querySelector("[data-field-rate]")
  const list = form.querySelector("[data-field-deviations]")

  function refresh() {
    const system = fields.system()
    const { once, runs } = readings(form)
    showUnits(form, system)
    showRate(rateBox, rateSoFar(form.dataset.fieldForm, once, runs, system), system, boundSign(fields.text("ended")))
    showHints(list, hints(form.dataset.fieldForm, once, runs))
  }

  form.addEventListener("stopwatchchange", ({ detail }) => {
    const ended = form.elements.namedItem("finished_at")
    if (ended && detail.status === "stopped") ended.value = new Date(detail.stoppedAt).toISOString()
  })
  form.addEventListener("input", refresh)
  enhanceStopPonded(form, fields)
  refresh()
}
