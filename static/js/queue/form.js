/* A form that records goes through the queue, with signal or without: kept first, then sent, then told. */

import { fillAgain } from "../drafts.js"
import { part } from "../form-parts.js"
import { KEEPING, keptAsIs, mended, PARKED, reasons, SENT, WAITING, withoutFiles } from "../logic/queue.js"
import { dayInstead, earlierSaving, entriesOf, fieldsOf, ownAddress, photosOf, targetOf } from "../logic/queued-form.js"
import { keptFiles, readFiles } from "./photos.js"
import * as refusal from "./refusal.js"
import { changed, drainNow } from "./send.js"
import * as store from "./store.js"
import { gettext as _, moment } from "../words.js"

const ANSWER_SHOWN_WITHIN_MS = 8_000
const DRAFT_AFTER_MS = 400
const NO_ROOM = [
  _("This phone could not keep it: its storage is full or closed to this page. Nothing is stored."),
  _("Leave this page open. Make room on the phone, or wait for signal, and save again."),
]

const here = () => location.pathname + location.search
const page = () => document.body.dataset
const isUsable = () => isSecureContext && "locks" in navigator && "indexedDB" in self
const isKeptPage = () => document.documentElement.dataset.kept !== undefined
const isFull = (error) => error?.name === "QuotaExceededError"

/** Try once more after the files of what arrived were dropped, as long as there are any. */
async function withRoom(act) {
  for (;;) {
    try {
      return await act()
    } catch (error) {
      const dropped = isFull(error) && (await store.makeRoom((entry) => entry.state === SENT).catch(() => false))
      if (!dropped) throw error
    }
  }
}

class Queued {
  constructor(form) {
    this.form = form
    this.buttons = [...form.elements].filter((control) => control.type === "submit")
    this.files = new Map() // control -> what was chosen, being read
    this.byClock = new Set()
    this.mended = null // the entry that this page shows again, to be corrected
    this.isBusy = false
    this.isPlain = false
    this.warned = ""
    this.draftTimer = null
    this.status = part("p", "soft", "")
  }

  /** Follow the page until it is left. */
  async begin() {
    this.status.setAttribute("role", "status")
    this.form.append(this.status) // empty and there from the start: what is put in later is read out
    this.form.addEventListener("submit", (event) => this.submit(event), { capture: true })
    this.form.addEventListener("change", ({ target }) => target.type === "file" && this.read(target))
    addEventListener("pageshow", ({ persisted }) => persisted && this.rearm())
    this.followDay()
    await this.showAgain()
    this.keepDrafts()
  }

  rearm() {
    this.isBusy = this.isPlain = false
    for (const button of this.buttons) button.disabled = false
    this.status.textContent = ""
  }

  read(control) {
    this.files.set(control, readFiles(control))
  }

  /** What was chosen, as it is kept. */
  async chosen() {
    for (const control of this.form.querySelectorAll("input[type=file]"))
      if (!this.files.has(control)) this.read(control)
    const files = await keptFiles((await Promise.all(this.files.values())).flat(), this.form)
    return files.map((file, number) => ({ ...file, number, size: file.bytes.byteLength }))
  }

  /** A page kept on an earlier day shows that day: put today's in its place, and say that the clock gave it. */
  followDay() {
    if (!isKeptPage()) return
    for (const control of this.form.querySelectorAll("input[type=date]")) {
      const today = dayInstead(control.value, Date.parse(page().pageAt), new Date())
      if (!today) continue
      control.value = today
      this.byClock.add(control.name)
      control.addEventListener("input", () => this.byClock.delete(control.name))
    }
  }

  /** Show an entry that was refused with its reasons, or offer what was begun here before. */
  async showAgain() {
    const asked = new URLSearchParams(location.search).get("queued")
    const entry = asked ? await store.entry(asked) : null
    if (entry && entry.person === page().person && entry.state !== SENT) {
      fillAgain(this.form, entry.fields)
      return this.askAgain(entry)
    }
    const begun = await store.draft(this.draftKey())
    if (begun && !this.form.querySelector("[data-error-summary]")) this.offer(begun)
  }

  offer(begun) {
    const words = _("You began this form at {time} and did not save it.", { time: moment(begun.at) })
    const box = refusal.notice(this.form, [words], { isFault: false })
    const act = (label, does) => {
      const button = Object.assign(part("button", "button button--small", label), { type: "button" })
      button.addEventListener("click", () => (does(), box.parentElement.remove()))
      box.append(button, " ")
    }
    act(_("Fill it in again"), () => fillAgain(this.form, begun.fields))
    act(_("Throw it away"), () => store.forgetDraft(this.draftKey()))
  }

  draftKey() {
    return `${page().person} ${here()}`
  }

  keepDrafts() {
    this.form.addEventListener("input", ({ isTrusted }) => {
      if (!isTrusted || this.mended || this.isBusy) return
      clearTimeout(this.draftTimer)
      this.draftTimer = setTimeout(() => {
        const fields = fieldsOf(new FormData(this.form), "")
        store.keepDraft({ key: this.draftKey(), fields, at: Date.now() }).catch(() => {}) // no room: the form works without
      }, DRAFT_AFTER_MS)
    })
  }

  async submit(event) {
    if (this.isPlain) return
    const path = this.mended?.path ?? targetOf(here(), page().queuedTo ?? "")
    event.preventDefault()
    if (!path) return refusal.notice(this.form, [_("Start the round first: this test does not know which it belongs to.")])
    if (this.isBusy || this.isWarned()) return
    this.isBusy = true
    clearTimeout(this.draftTimer)
    for (const button of this.buttons) button.disabled = true
    await this.send(event.submitter, path)
  }

  /** Without signal nobody but the browser can say what is missing; who saves once more keeps it as it is. */
  isWarned() {
    const faults = navigator.onLine ? [] : faultsOf(this.form)
    const said = faults.join("\n")
    if (!said || this.warned === said) return false
    this.warned = said
    refusal.clear(this.form)
    const lines = [...faults, _("Mend it, or save once more to keep it as it is.")]
    refusal.notice(this.form, lines, { heading: _("The server will not take it like this") })
    return true
  }

  async send(submitter, path) {
    const madeAt = new Date().toISOString()
    const fields = fieldsOf(entriesIn(this.form, submitter), madeAt)
    this.status.textContent = _("Keeping it on this phone …")
    let kept
    try {
      kept = await this.keep(path, fields, madeAt)
    } catch (error) {
      return this.notKept(error, submitter)
    }
    changed()
    this.status.textContent = _("Kept on this phone. Sending …")
    const longEnough = new Promise((resolve) => setTimeout(resolve, ANSWER_SHOWN_WITHIN_MS))
    await Promise.race([drainNow().catch((error) => console.error(error)), longEnough])
    await this.tell(kept)
  }

  /** Keep the readings, then the files; gives the id of the readings. */
  async keep(path, fields, madeAt) {
    const files = await this.chosen()
    if (this.mended) return this.keepMended(fields, files)
    const chosen = JSON.stringify(files.map(withoutBytes))
    const earlier = earlierSaving(await store.entries(), path, fields, chosen, isKeptPage())
    if (earlier) return earlier.id
    const common = { ...(await this.common(path, madeAt)), chosen }
    const filesTo = page().queuedFilesTo ?? ""
    const entries = entriesOf(common, fields, files.map(withoutBytes), filesTo, () => crypto.randomUUID())
    await this.keepAll(entries, files)
    return entries[0].id
  }

  /** All entries at once, then the files of each: a photo that finds no room must not take the readings with it. */
  async keepAll(entries, files) {
    const states = entries.map((entry) => ({ ...entry, state: entry.files.length ? KEEPING : WAITING }))
    await withRoom(() => store.keepEntries(states, this.draftKey()))
    for (const entry of entries.filter((each) => each.files.length)) await keepBytes(entry, files)
  }

  async common(path, madeAt) {
    const clock = await store.fact("clock")
    return {
      path,
      madeAt,
      title: words("h1"),
      about: words(".trail a") || words(".heading__sub"),
      page: here(),
      person: page().person,
      firm: page().firm ?? "",
      units: page().units,
      formVersion: page().version ?? "",
      device: await store.device(),
      isFiles: page().queuedFiles !== undefined,
      byClock: [...this.byClock],
      knownOffsetMs: clock?.offsetMs,
      knownAt: clock?.at,
      onward: onward(),
      revision: 0,
    }
  }

  /** What was corrected, in place of what was refused; photos that go by themselves are entries of their own. */
  async keepMended(fields, files) {
    const { id } = this.mended
    const isAsked = (name) => this.form.elements.namedItem(name) !== null
    const filesTo = page().queuedFilesTo ?? ""
    const change = (there) => mended(there, fields, isAsked)
    if (files.length && !filesTo) {
      const facts = files.map(withoutBytes)
      await withRoom(() => store.keepFiles(id, files, (there) => ({ ...change(there), files: facts })))
      return id
    }
    const now = await withRoom(() => store.changeEntry(id, change))
    if (files.length)
      await this.keepAll(
        photosOf(now, files.map(withoutBytes), filesTo, () => crypto.randomUUID()),
        files,
      )
    return id
  }

  /** The phone took nothing: say so, and send it the plain way where the page's own address takes it. */
  notKept(error, submitter) {
    console.error(error)
    this.rearm()
    refusal.clear(this.form)
    if (this.mended || page().queuedTo || !navigator.onLine) return refusal.notice(this.form, NO_ROOM)
    this.isPlain = true
    this.form.requestSubmit(submitter ?? undefined)
  }

  /** What became of it, where the person looks. */
  async tell(id) {
    const entry = await store.entry(id)
    if (entry?.state === SENT) {
      sessionStorage.setItem("field notes", JSON.stringify(entry.answer))
      await store.changeEntry(id, (there) => ({ ...there, answer: { ...there.answer, isSeen: true } })).catch(() => {})
      return location.assign(entry.answer.url)
    }
    if (entry?.state === PARKED && entry.answer.code === "refused") return this.askAgain(entry)
    this.showKept(entry)
  }

  /** Show what is to be corrected; the next saving puts it in place of what was refused. */
  askAgain(entry) {
    this.rearm()
    this.mended = entry
    refusal.show(this.form, entry, () => this.keepAsIs())
  }

  async keepAsIs() {
    await store.changeEntry(this.mended.id, keptAsIs)
    await drainNow().catch((error) => console.error(error))
    await this.tell(this.mended.id)
  }

  showKept(entry) {
    const isParked = entry?.state === PARKED
    const box = part("section", "kept-entry", "")
    const title = part("h2", "", isParked ? _("Refused, and kept on this phone") : _("Kept on this phone"))
    title.tabIndex = -1
    const said = isParked
      ? reasons(entry)
      : [_("It is sent by itself once there is signal and you are signed in. “On this phone” shows what still waits.")]
    box.append(title, ...said.map((text) => part("p", "", text)), steps(entry))
    refusal.clear(this.form)
    this.form.replaceWith(box)
    title.focus()
  }
}

const words = (selector) =>
  document.querySelector(selector)?.textContent.replace(/\s+/g, " ").trim().slice(0, 120) ?? ""
const withoutBytes = ({ field, name, type, number, size }) => ({ field, name, type, number, size })

/** The form's entries with the button that was pressed; older browsers leave that one out. */
function entriesIn(form, submitter) {
  const entries = [...new FormData(form)]
  return submitter?.name ? [...entries, [submitter.name, submitter.value]] : entries
}

/** Keep an entry's files and let it go; where there is no room for them, it waits for a person with what there is. */
async function keepBytes(entry, files) {
  const own = entry.files.map(({ number }) => files[number])
  try {
    await withRoom(() => store.keepFiles(entry.id, own, (there) => ({ ...there, files: entry.files, state: WAITING })))
  } catch (error) {
    console.error(error)
    await store.changeEntry(entry.id, (there) => withoutFiles(there, [])).catch(() => {}) // else after a minute, by the next pass
  }
}

function faultsOf(form) {
  const wrong = [...form.elements].filter((control) => control.willValidate && !control.validity.valid)
  return wrong.map(
    (control) => `${control.labels?.[0]?.textContent.trim() ?? control.name}: ${control.validationMessage}`,
  )
}

/** Where to go on from here, [words, address]: what the server named, then back where the page came from. */
function onward() {
  const named = JSON.parse(page().queuedOnward ?? "[]")
  const next = ownAddress(new URLSearchParams(location.search).get("next"), location.origin)
  const back = next ?? document.querySelector(".form__actions a")?.getAttribute("href")
  return back ? [...named, [_("Go back"), back]] : named
}

function steps(entry) {
  const list = part("ul", "stack", "")
  const own = [[_("On this phone"), "/field/phone/"]]
  for (const [text, address] of [...(entry?.onward ?? []), ...own]) {
    const link = part("a", "button button--wide", text)
    link.href = address.replace("{entry}", entry?.id).replace("{here}", entry?.page)
    const item = part("li", "", "")
    item.append(link)
    list.append(item)
  }
  return list
}

/** Take over the page's form. */
export async function enhance() {
  const form = document.querySelector("form[data-edit-guard]")
  if (form && isUsable()) await new Queued(form).begin()
}
