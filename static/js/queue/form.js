/* A form that records goes through the queue, with signal or without: kept first, then sent, then told. */

import { fillAgain } from "../drafts.js"
import { part } from "../form-parts.js"
import { again, KEEPING, PARKED, reasons, SENT, WAITING } from "../logic/queue.js"
import { dayInstead, entriesOf, fieldsOf, targetOf } from "../logic/queued-form.js"
import { readFile } from "./photos.js"
import { changed, drainNow } from "./send.js"
import * as store from "./store.js"

const ANSWER_SHOWN_WITHIN_MS = 8_000
const DRAFT_AFTER_MS = 400

const here = () => location.pathname + location.search
const page = () => document.body.dataset
const isUsable = () => isSecureContext && "locks" in navigator && "indexedDB" in self

class Queued {
  constructor(form) {
    this.form = form
    this.files = new Map() // control -> what was chosen, being read
    this.byClock = new Set()
    this.mended = null // the parked entry that is shown again
    this.isBusy = false
    this.isNative = false
    this.warned = ""
  }

  /** Follow the page until it is left. */
  async begin() {
    this.form.addEventListener("submit", (event) => this.submit(event), { capture: true })
    this.form.addEventListener("change", ({ target }) => target.type === "file" && this.read(target))
    this.followDay()
    await this.showAgain()
    this.keepDrafts()
  }

  /** A chosen file may be gone from its place later: it is read at once. */
  read(control) {
    const reading = [...control.files].map(async (file) => ({
      field: control.name,
      ...(await readFile(file, this.form)),
    }))
    this.files.set(control, Promise.all(reading))
  }

  async chosen() {
    for (const control of this.form.querySelectorAll("input[type=file]"))
      if (!this.files.has(control)) this.read(control)
    return (await Promise.all(this.files.values())).flat()
  }

  /** A page kept on an earlier day shows that day: put today's in its place, and say that the clock gave it. */
  followDay() {
    if (document.documentElement.dataset.kept === undefined) return
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
    this.mended = asked ? ((await store.entry(asked)) ?? null) : null
    if (this.mended) {
      fillAgain(this.form, this.mended.fields)
      return this.notice(["Not stored yet. Mend it and save it again.", ...reasons(this.mended)], "notice--danger")
    }
    const begun = await store.draft(this.draftKey())
    if (begun && !this.form.querySelector("[data-error-summary]")) this.offer(begun)
  }

  offer(begun) {
    const box = this.notice([`You began this form at ${new Date(begun.at).toLocaleString()} and did not save it.`], "")
    const act = (words, does) => {
      const button = Object.assign(part("button", "button button--small", words), { type: "button" })
      button.addEventListener("click", () => (does(), box.remove()))
      box.append(button)
    }
    act("Fill it in again", () => fillAgain(this.form, begun.fields))
    act("Throw it away", () => store.forgetDraft(this.draftKey()))
  }

  draftKey() {
    return `${page().person} ${here()}`
  }

  keepDrafts() {
    let timer = null
    this.form.addEventListener("input", ({ isTrusted }) => {
      if (!isTrusted || this.mended) return
      clearTimeout(timer)
      timer = setTimeout(() => {
        const fields = fieldsOf(new FormData(this.form), "")
        store.keepDraft({ key: this.draftKey(), fields, at: Date.now() }).catch(() => {}) // no room: the form works without
      }, DRAFT_AFTER_MS)
    })
  }

  async submit(event) {
    if (this.isNative) return
    const target = targetOf(here(), page().queuedTo ?? "")
    if (!target && !this.mended) return
    const faults = faultsOf(this.form)
    if (faults.length && navigator.onLine) return // the server's words for it
    event.preventDefault()
    if (this.isBusy || this.isWarned(faults)) return
    this.isBusy = true
    try {
      await this.send(event.submitter, this.mended?.path ?? target)
    } finally {
      this.isBusy = false
    }
  }

  /** Without signal nobody but the browser can say what is missing; who saves once more keeps it as it is. */
  isWarned(faults) {
    const said = faults.join("\n")
    if (!said || this.warned === said) return false
    this.warned = said
    this.notice(
      ["The server will not take it like this:", ...faults, "Mend it, or save once more to keep it as it is."],
      "notice--danger",
    )
    return true
  }

  async send(submitter, path) {
    const madeAt = new Date().toISOString()
    const fields = fieldsOf(new FormData(this.form, submitter), madeAt)
    let kept
    try {
      kept = await this.keep(path, fields, madeAt)
    } catch (error) {
      return this.notKept(error, submitter)
    }
    store.forgetDraft(this.draftKey()).catch(() => {})
    changed()
    this.status("Kept on this phone. Sending …")
    await Promise.race([
      drainNow().catch(() => {}),
      new Promise((resolve) => setTimeout(resolve, ANSWER_SHOWN_WITHIN_MS)),
    ])
    await this.tell(kept, submitter)
  }

  /** Keep the readings, then the files; gives the ids. */
  async keep(path, fields, madeAt) {
    const files = await this.chosen()
    if (this.mended) return [await this.keepMended(fields, files)]
    const clock = await store.fact("clock")
    const common = {
      path,
      madeAt,
      title: words("h1"),
      about: words(".trail a") || words(".heading__sub"),
      page: here(),
      records: page().queued,
      state: KEEPING,
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
    }
    const facts = files.map(({ field, name, type, bytes }, number) => ({
      field,
      name,
      type,
      number,
      size: bytes.byteLength,
    }))
    const entries = entriesOf(common, fields, facts, page().queuedFilesTo ?? "", [
      crypto.randomUUID(),
      crypto.randomUUID(),
    ])
    for (const entry of entries) await store.keepEntry(entry.files.length ? entry : { ...entry, state: WAITING })
    for (const entry of entries.filter((each) => each.files.length)) await keepBytes(entry, files)
    return entries.map((entry) => entry.id)
  }

  async keepMended(fields, files) {
    const { id } = this.mended
    if (files.length) {
      await store.dropFiles(id)
      const facts = files.map(({ field, name, type, bytes }, number) => ({
        field,
        name,
        type,
        number,
        size: bytes.byteLength,
      }))
      await keepBytes({ ...this.mended, files: facts }, files)
    }
    await store.changeEntry(id, (there) => again(there, fields))
    return id
  }

  /** The device took nothing: say so, and send it the plain way where that may work. */
  notKept(error, submitter) {
    console.error(error)
    if (navigator.onLine) return this.sendPlainly(submitter)
    this.notice(
      [
        "This phone could not keep it: its storage is full or closed to this page. Nothing is stored.",
        "Leave this page open. Make room on the phone, or wait for signal, and save again.",
      ],
      "notice--danger",
    )
  }

  /** As without any script: the server's own page answers. */
  sendPlainly(submitter) {
    this.isNative = true
    this.form.requestSubmit(submitter ?? undefined)
  }

  /** What became of it, where the person looks. */
  async tell([id, ...others], submitter) {
    const entry = await store.entry(id)
    if (entry?.state === SENT) {
      sessionStorage.setItem("field notes", JSON.stringify(entry.answer.notes))
      return location.assign(entry.answer.url)
    }
    if (entry?.state === PARKED && entry.answer.code === "refused" && !this.mended) {
      for (const each of [id, ...others]) await store.forget(each)
      changed()
      return this.sendPlainly(submitter) // the server's page says it beside the fields
    }
    if (this.mended && entry?.state === PARKED) {
      this.form.previousElementSibling?.matches("[data-queue-notice]") && this.form.previousElementSibling.remove()
      return this.notice(["Not stored yet.", ...reasons(entry)], "notice--danger")
    }
    this.showKept(entry)
  }

  showKept(entry) {
    const box = part("section", "kept-entry", "")
    const title = part("h2", "", entry.state === PARKED ? "Refused, and kept on this phone" : "Kept on this phone")
    title.tabIndex = -1
    const said =
      entry.state === PARKED
        ? reasons(entry)
        : ["It is sent by itself as soon as there is signal. Nothing else is to be done."]
    box.append(title, ...said.map((text) => part("p", "", text)), steps(entry))
    dispatchEvent(new Event("pageshow")) // nothing is on its way any more
    this.form.replaceWith(box)
    title.focus()
  }

  status(text) {
    let box = this.form.querySelector("[data-queue-status]")
    if (!box) {
      box = part("p", "soft", "")
      box.setAttribute("role", "status")
      box.dataset.queueStatus = ""
      this.form.append(box)
    }
    box.textContent = text
  }

  notice(lines, kind) {
    const box = part("div", `notice ${kind}`.trim(), "")
    box.setAttribute("role", kind ? "alert" : "status")
    box.dataset.queueNotice = ""
    box.append(...lines.map((line) => part("p", "", line)))
    this.form.before(box)
    return box
  }
}

const words = (selector) =>
  document.querySelector(selector)?.textContent.replace(/\s+/g, " ").trim().slice(0, 120) ?? ""

function faultsOf(form) {
  const wrong = [...form.elements].filter((control) => control.willValidate && !control.validity.valid)
  return wrong.map(
    (control) => `${control.labels?.[0]?.textContent.trim() ?? control.name}: ${control.validationMessage}`,
  )
}

async function keepBytes(entry, files) {
  await store.keepFiles(entry.files.map((file) => ({ entry: entry.id, ...file, bytes: files[file.number].bytes })))
  await store.changeEntry(entry.id, (there) => ({ ...there, files: entry.files, state: WAITING }))
}

/** Where to go on from here, [words, address]: what the server named, then back where the page came from. */
function onward() {
  const named = JSON.parse(page().queuedOnward ?? "[]")
  const next = new URLSearchParams(location.search).get("next")
  const back = next?.startsWith("/") ? next : document.querySelector(".form__actions a")?.getAttribute("href")
  return back ? [...named, ["Go back", back]] : named
}

function steps(entry) {
  const list = part("ul", "stack", "")
  const own = [["On this phone", "/field/phone/"]]
  for (const [text, address] of [...entry.onward, ...own]) {
    const link = part("a", "button button--wide", text)
    link.href = address.replace("{entry}", entry.id).replace("{here}", entry.page)
    const item = part("li", "", "")
    item.append(link)
    list.append(item)
  }
  return list
}

/** Take over the page's form. */
export async function enhance(body) {
  const form = document.querySelector("form[data-edit-guard]")
  if (form && isUsable()) await new Queued(form).begin()
}
