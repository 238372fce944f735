/* The search field of the frame: a key leads to it, and before anything is typed it offers what was opened lately. */

import { isOn, meansSearch } from "./logic/search-key.js"

/** Where the cursor can go: the field of the page, else that of the frame; null where neither is shown. */
function fieldShown() {
  const fields = document.querySelectorAll("[data-search-page], [data-search] input[type=search]")
  return [...fields].find((field) => field.checkVisibility()) ?? null
}

function goToSearch(event, form) {
  if (!meansSearch(event, event.target) || !isOn(localStorage)) return
  event.preventDefault()
  const field = fieldShown()
  if (field) field.focus()
  else location.assign(form.action)
}

async function offer(panel, field, url) {
  if (field.value.trim()) return
  const answer = await fetch(url, { credentials: "same-origin" }).catch(() => null)
  if (!answer?.ok || answer.redirected) return // signed out, or without a signal: nothing to offer
  panel.innerHTML = await answer.text()
  panel.hidden = panel.querySelector("a") === null || field.value.trim() !== ""
}

export function enhance(search) {
  const [form, field] = [search.querySelector("form"), search.querySelector("input[type=search]")]
  const panel = search.querySelector("[data-opened]")
  let quiet = false // while the cursor is put back, which offers nothing anew
  const close = () => (panel.hidden = true)
  const open = () => quiet || offer(panel, field, search.dataset.search)
  document.addEventListener("keydown", (event) => goToSearch(event, form))
  field.addEventListener("focus", open)
  field.addEventListener("input", () => (field.value.trim() ? close() : open()))
  search.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || panel.hidden) return
    close()
    quiet = true
    field.focus()
    quiet = false
  })
  search.addEventListener("focusout", (event) => {
    if (!search.contains(event.relatedTarget)) close()
  })
}
