import { stateOf } from "./stopwatch.js"

function choose(form, name, value) {
  for (const radio of form.querySelectorAll(`input[type="radio"][name="${CSS.escape(name)}"]`)) {
    radio.checked = radio.value === value
  }
}

/**
 * The key that stops a test with water still standing: it stops the clock and says so in one press.
 *
 * Taking the stop back takes the "still ponded" back with it.
 */
export function enhanceStopPonded(form, fields) {
  const key = form.querySelector("[data-stop-ponded]")
  const watch = key && fields.watch(key.dataset.stopPonded)
  if (!watch) return
  let ours = false

  function end(value) {
    choose(form, `${fields.prefix}ended`, value)
    form.dispatchEvent(new Event("input", { bubbles: true }))
  }

  /** Once seen it keeps its place: what moves up into it would catch a second press. */
  function show(status) {
    key.hidden = key.hidden && status !== "running"
    key.disabled = status !== "running"
  }

  key.addEventListener("click", () => {
    watch.dispatchEvent(new CustomEvent("stopwatchstop"))
    if (stateOf(watch).status !== "stopped") return // the press was one with the press before it
    ours = true
    end("still_ponded")
  })
  watch.addEventListener("stopwatchchange", ({ detail }) => {
    show(detail.status)
    if (detail.status === "stopped" || !ours) return
    ours = false
    end("drained")
  })
  show(stateOf(watch).status)
}
