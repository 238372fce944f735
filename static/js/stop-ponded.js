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

  key.addEventListener("click", () => {
    ours = true
    end("still_ponded")
    watch.dispatchEvent(new CustomEvent("stopwatchstop"))
  })
  watch.addEventListener("stopwatchchange", ({ detail }) => {
    key.hidden = detail.status !== "running"
    if (detail.status === "stopped" || !ours) return
    ours = false
    end("drained")
  })
  key.hidden = stateOf(watch).status !== "running"
}
