import { maySend, UNANSWERED_MS } from "./logic/send-once.js"

/** Take one sending at a time: the buttons are off until the next page comes, or does not come. */
export function enhance(form) {
  const buttons = [...form.elements].filter((control) => control.type === "submit")
  let sentAt = null

  function turn(off) {
    for (const button of buttons) button.disabled = off
  }

  function again() {
    sentAt = null
    turn(false)
  }

  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return
    if (!maySend(sentAt, Date.now())) return event.preventDefault()
    sentAt = Date.now()
    setTimeout(() => turn(true)) // once the browser has read which button was pressed
    setTimeout(again, UNANSWERED_MS)
  })
  addEventListener("pageshow", again) // back from an error or from the next page
}
