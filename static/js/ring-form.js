import { countdown } from "./logic/countdown.js"
import {
  deviations,
  LONGEST_REPEAT_GAP_MIN,
  LONGEST_START_DELAY_S,
  meanOfTwo,
  nominalInstead,
  PROCEDURES,
  requiredTestMass,
  ringRate,
  secondsToShowBelow,
  signWith,
} from "./logic/ring-test.js"
import { numberOf, part, rateValue, sayEach, systemOf } from "./form-parts.js"
import { earlierAtSpot, repeatText } from "./logic/repeats.js"
import { settingText } from "./logic/setting.js"
import { BOUNCE_MS, elapsedMs, IDLE } from "./logic/stopwatch.js"
import { enhanceStopPonded } from "./stop-ponded.js"
import { clock, stateOf } from "./stopwatch.js"
import { gettext as _, marked } from "./words.js"

const REFRESH_MS = 250

/** Reads and writes the fields of one form, whose names may carry a prefix. */
class Fields {
  constructor(form) {
    this.form = form
    this.prefix = form.dataset.prefix ? `${form.dataset.prefix}-` : ""
    this.spots = spotsTested(form)
    this.corrects = form.dataset.ringForm === "correction"
    this.filled = new Set(this.isNew() ? ["test_mass"] : []) // a new form comes with the mass of the test before
    this.followed = this.isNew() ? undefined : this.earlier() // what a person has answered stays as it is
  }

  isNew() {
    return !this.corrects && this.form.querySelector("[data-error-summary]") === null
  }

  input(name) {
    return this.form.elements.namedItem(this.prefix + name)
  }

  text(name) {
    return new FormData(this.form).get(this.prefix + name) ?? ""
  }

  number(name) {
    return numberOf(this.text(name))
  }

  /** Fill what is empty or what we filled ourselves; never what a person typed. */
  offer(name, value) {
    const input = this.input(name)
    if (!input || (input.value !== "" && !this.filled.has(name))) return
    input.value = value
    this.filled.add(name)
  }

  typed(name) {
    this.filled.delete(name)
  }

  watch(name) {
    return this.form.querySelector(`[data-stopwatch="${CSS.escape(this.prefix + name)}"]`)
  }

  system() {
    return systemOf(this.text("unit_system"))
  }

  /** The units the page came with: a choice made before this module arrived is still to be followed. */
  servedSystem() {
    const radios = this.form.querySelectorAll(`input[name="${CSS.escape(`${this.prefix}unit_system`)}"]`)
    const served = [...radios].find((radio) => radio.defaultChecked)
    return served ? systemOf(served.value) : this.system()
  }

  ticked(name) {
    return this.input(name)?.checked ?? false
  }

  /** What was tested before at the spot chosen now; null when nothing was. */
  earlier() {
    return earlierAtSpot(this.spots, this.text("location"), this.text("spot"))
  }

  reading(test) {
    return {
      system: this.system(),
      ringDiameter: this.number("ring_diameter"),
      prewetMass: this.number("prewet_mass"),
      prewetTimeS: this.number("prewet_time_s"),
      startDelayS: this.number("start_delay_s"),
      testMass: this.number("test_mass"),
      sequence: 1 + (this.earlier()?.tests ?? 0),
      rewetted: this.ticked("rewetted"),
      minutesSinceFirst: this.number("minutes_since_first"),
      leakSeen: this.ticked("leak_seen"),
      firstPrewetTimeS: this.earlier()?.prewet_time_s ?? null,
      elapsedS: test?.status === "running" ? null : this.number("elapsed_s"),
      ended: this.text("ended"),
      testStarted: (test ?? IDLE).status !== "idle" || this.number("elapsed_s") !== null,
    }
  }
}

function spotsTested(form) {
  const data = form.dataset.spotsTested && document.getElementById(form.dataset.spotsTested)
  return data ? JSON.parse(data.textContent) : {}
}

function say(box, ...content) {
  if (!box) return
  box.replaceChildren(...content)
  box.hidden = content.length === 0
}

function showUnits(form, system) {
  for (const label of form.querySelectorAll("[data-ring-unit]")) {
    label.textContent = PROCEDURES[system].units[label.dataset.ringUnit]
  }
}

/** What stays the same from spot to spot, on the line that opens it. */
function showSetting(line, fields) {
  if (!line) return
  const { units } = PROCEDURES[fields.system()]
  const seal = fields.input("seal")
  line.textContent = settingText({
    diameter: `${fields.number("ring_diameter") ?? ""} ${units.length}`,
    prewetMass: `${fields.number("prewet_mass") ?? ""} ${units.mass}`,
    seal: seal.value && seal.selectedOptions[0].text,
  })
}

/** The next clock comes to the thumb, once the press that ended the one before cannot fall on it twice. */
function bringNext(box, { target, detail }) {
  const prewetDone = target.matches('[data-stopwatch$="prewet_time_s"]') && detail.status === "stopped"
  const come = () => {
    const next = box("countdown")?.hidden === false ? box("countdown") : box("test")
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches
    next?.scrollIntoView({ block: "start", behavior: still ? "instant" : "smooth" })
  }
  if (prewetDone) setTimeout(come, BOUNCE_MS)
}

function followUnits(fields, from, to) {
  for (const name of ["ring_diameter", "prewet_mass"]) {
    const value = fields.number(name)
    if (value !== null) fields.input(name).value = nominalInstead(name, value, from, to)
  }
}

function showMass(box, fields) {
  const time = fields.number("prewet_time_s")
  if (time === null) return say(box)
  const system = fields.system()
  const mass = requiredTestMass(time, system).toFixed(2)
  fields.offer("test_mass", mass)
  const withUnit = `${marked(mass)} ${PROCEDURES[system].units.mass}`
  const said = _("Prewetting took {time} s: test with {mass}.", { time: marked(time.toFixed(1)), mass: withUnit })
  say(box, part("p", "", said))
}

function showCountdown(box, prewet, test) {
  const waiting = prewet?.status === "stopped" && test?.status === "idle"
  if (!box || !waiting) return say(box)
  const left = countdown(prewet.stoppedAt, clock(), LONGEST_START_DELAY_S)
  box.classList.toggle("countdown--late", left.late)
  say(box, part("b", "", left.text), part("span", "", left.late ? _("Prewet again before the test.") : _("left to start the test")))
}

function offerDelay(fields, prewet, test) {
  if (prewet?.status !== "stopped" || !test) return
  if (test.status === "idle") fields.offer("start_delay_s", "")
  else if (test.startedAt >= prewet.stoppedAt) {
    fields.offer("start_delay_s", ((test.startedAt - prewet.stoppedAt) / 1000).toFixed(1))
  }
}

/** A second test soon after the first goes on from it; later the spot has to be prewetted again. */
function followSpot(fields) {
  const earlier = fields.earlier()
  if (earlier === fields.followed) return
  fields.followed = earlier
  const gapMin = earlier?.ended_ms ? (clock() - earlier.ended_ms) / 60000 : Infinity
  fields.input("rewetted").checked = !earlier || gapMin > LONGEST_REPEAT_GAP_MIN
  fields.offer("test_mass", earlier?.test_mass ?? "")
}

function offerGap(fields, test) {
  const ended = fields.earlier()?.ended_ms
  if (!ended || !test || test.status === "idle") return fields.offer("minutes_since_first", "")
  fields.offer("minutes_since_first", Math.max(0, (test.startedAt - ended) / 60000).toFixed(2))
}

/** A field that does not apply is out of the way, unless something stands in it. */
function showOnly(box, fields) {
  const rewetted = fields.ticked("rewetted")
  const needed = {
    spot: fields.text("location") === "",
    prewet: rewetted,
    delay: rewetted,
    gap: fields.earlier() !== null,
  }
  const holds = { spot: "spot", prewet: "prewet_time_s", delay: "start_delay_s", gap: "minutes_since_first" }
  for (const [name, shown] of Object.entries(needed)) {
    if (box(name)) box(name).hidden = !shown && fields.text(holds[name]) === ""
  }
}

/** The end of the test, so that a repeat knows how long ago it was. */
function offerEnd(fields, test) {
  const input = fields.input("finished_at")
  if (!input || !test) return
  if (test.status === "stopped") input.value = new Date(test.stoppedAt).toISOString()
  else if (test.status === "running") input.value = ""
}

function showRepeat(box, fields, test) {
  const earlier = fields.earlier()
  if (!box || !earlier || fields.corrects) return say(box)
  const started = test && test.status !== "idle"
  const text = repeatText(earlier, started ? test.startedAt : clock(), LONGEST_REPEAT_GAP_MIN)
  if (box.dataset.shown === text) return
  box.dataset.shown = text
  say(box, part("p", "", text))
}

/** While water stands, the time so far only says "less than". */
function rateNow(fields, test) {
  const running = test?.status === "running"
  const elapsedS = running ? elapsedMs(test, clock()) / 1000 : fields.number("elapsed_s")
  const setting = { mass: fields.number("test_mass"), diameter: fields.number("ring_diameter"), system: fields.system() }
  return { running, elapsedS, setting, rate: ringRate({ ...setting, elapsedS }) }
}

function minutesAndSeconds(duration) {
  const whole = Math.ceil(duration)
  return `${Math.floor(whole / 60)} min ${whole % 60} s`
}

/** When the limit is known, the moment from which waiting on tells nothing more. */
function stopAdvice(form, { running, elapsedS, setting }) {
  const limit = Number(form.dataset.limitMmH)
  const needed = limit > 0 ? secondsToShowBelow(limit, setting) : null
  if (!running || needed === null) return ""
  if (elapsedS >= needed) return _("Already below the limit. You may stop and record that water still stands.")
  return _("Below the limit if water still stands after {time}.", { time: minutesAndSeconds(needed) })
}

function showRate(box, form, fields, test) {
  const now = rateNow(fields, test)
  if (now.rate === null) return say(box)
  const sign = now.running ? "<" : signWith(fields.text("ended"), deviations(fields.reading(test)))
  const lines = [
    part("span", "soft", now.running ? _("Rate, at most, so far") : _("Rate of this test")),
    rateValue(sign, now.rate, now.setting.system),
  ]
  const mean = now.running ? null : meanOfTwo(fields.earlier(), now.rate, fields.text("ended"), fields.system())
  if (mean) lines.push(part("span", "", mean))
  const advice = stopAdvice(form, now)
  if (advice) lines.push(part("span", "", advice))
  say(box, ...lines)
}

/** Guide a ring test while it is taken: which mass, how long to wait, what rate, what is off. */
export function enhance(form) {
  const fields = new Fields(form)
  const box = (name) => form.querySelector(`[data-ring-${name}]`)
  const states = () => ["prewet_time_s", "elapsed_s"].map((name) => stateOf(fields.watch(name)))
  let system = fields.servedSystem()
  for (const hidden of form.querySelectorAll("[data-until-ready]")) delete hidden.dataset.untilReady

  function refresh() {
    const [prewet, test] = states()
    if (fields.system() !== system) followUnits(fields, system, fields.system())
    system = fields.system()
    showUnits(form, system)
    showSetting(box("setting"), fields)
    followSpot(fields)
    showOnly(box, fields)
    showMass(box("mass"), fields)
    offerDelay(fields, prewet, test)
    offerGap(fields, test)
    offerEnd(fields, test)
    sayEach(box("deviations"), deviations(fields.reading(test)))
    tick()
  }

  function tick() {
    const [prewet, test] = states()
    showCountdown(box("countdown"), prewet, test)
    showRepeat(box("repeat"), fields, test)
    showRate(box("rate"), form, fields, test)
  }

  form.addEventListener("input", ({ target }) => {
    if (target !== form) fields.typed(target.name.slice(fields.prefix.length)) // also what a draft fills in again
    refresh()
  })
  form.addEventListener("stopwatchchange", refresh)
  form.addEventListener("stopwatchchange", (event) => bringNext(box, event))
  enhanceStopPonded(form, fields)
  setInterval(() => form.isConnected && tick(), REFRESH_MS)
  refresh()
}
