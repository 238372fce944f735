import { snapshot, wouldLose } from "./logic/edits.js"

/** Ask before an edited form is left; sending it is not leaving it. */
export function enhance(form) {
  const now = () => snapshot(new FormData(form))
  const before = form.querySelector("[data-error-summary]") ? "sent back, not saved" : now()
  let sending = false

  form.addEventListener("submit", () => (sending = true))
  addEventListener("pageshow", () => (sending = false)) // back from the next page: armed again
  addEventListener("beforeunload", (event) => {
    if (form.isConnected && wouldLose(before, now(), sending)) event.preventDefault()
  })
}
