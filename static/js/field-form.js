import { hints, rateSoFar } from "./logic/field-tests.js"
import { PROCEDURES, signWith } from "./logic/ring-test.js"
import { numberOf, part, rateValue, sayEach, systemOf } from "./form-parts.js"
import { enhanceStopPonded } from "./stop-ponded.js"
import { gettext as _ } from "./words.js"

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
    return systemOf(this.text("unit_system"))
  }
}

function valueOf(input) {
  return input.type === "checkbox" ? input.checked : numberOf(input.value)
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

function showUnits(form, system) {
  for (const label of form.querySelectorAll("[data-unit-pair]")) {
    const [si, us] = label.dataset.unitPair.split("|")
    label.textContent = system === "us" ? us : si
  }
}

function showRate(box, rate, system, sign) {
  box.hidden = rate === null
  if (rate === null) return
  const value = rateValue(sign, rate / PROCEDURES[system].mmPerHour, system)
  box.replaceChildren(part("span", "soft", _("Rate as this method measures it")), value)
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
    const found = hints(form.dataset.fieldForm, once, runs, system)
    const rate = rateSoFar(form.dataset.fieldForm, once, runs, system)
    showRate(rateBox, rate, system, signWith(fields.text("ended"), found))
    sayEach(list, found)
  }

  form.addEventListener("stopwatchchange", ({ detail }) => {
    const ended = form.elements.namedItem("finished_at")
    if (ended && detail.status === "stopped") ended.value = new Date(detail.stoppedAt).toISOString()
  })
  form.addEventListener("input", refresh)
  enhanceStopPonded(form, fields)
  refresh()
}
