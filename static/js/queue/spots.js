/* A page of tests that was made before tests of its round were kept here: add them, and choose the next spot. */

import { nextPlace, plainAddress, roundOf, targetOf, testsHeld, withHeld } from "../logic/queued-form.js"
import * as store from "./store.js"

function add(held) {
  const data = document.getElementById("spots-tested")
  if (data) data.textContent = JSON.stringify(withHeld(JSON.parse(data.textContent), held))
}

function choose(held) {
  const select = document.querySelector("form[data-edit-guard] select[name=location]")
  if (!select) return
  const done = held.map((entry) => entry.fields.find(([name]) => name === "location")?.[1])
  select.value = nextPlace(
    select.value,
    [...select.options].map((option) => option.value),
    done,
  )
}

/** Links to forms of the same round carry the entry that the round is kept as. */
function carryEntry() {
  const entry = new URLSearchParams(location.search).get("entry")
  for (const link of entry ? document.querySelectorAll("a[data-carry-entry]") : []) {
    const address = new URL(link.href)
    address.searchParams.set("entry", entry)
    link.href = address.pathname + address.search
  }
}

/** To be done before other modules read the page. */
export async function enhance(body) {
  const address = location.pathname + location.search
  const path = targetOf(address, body.dataset.queuedTo ?? "") ?? plainAddress(address)
  const about = roundOf(path)
  carryEntry()
  if (!about || !("indexedDB" in self)) return
  const held = testsHeld(await store.entries(), about.round, Date.parse(body.dataset.pageAt), body.dataset.person)
  if (held.length === 0) return
  add(held)
  choose(held)
}
