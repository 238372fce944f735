/* What this device holds, in IndexedDB. Written to the disk before anybody is told that it is kept. */

const NAME = "rainthrough-field"
const VERSION = 1
const STRICT = { durability: "strict" }
let opened = null

function done(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result)
    request.onerror = () => reject(request.error)
  })
}

function finished(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve()
    transaction.onabort = () => reject(transaction.error ?? new DOMException("Not kept", "AbortError"))
    transaction.onerror = () => reject(transaction.error)
  })
}

function upgrade(db) {
  const has = (name) => db.objectStoreNames.contains(name)
  if (!has("entries")) db.createObjectStore("entries", { keyPath: "id" })
  if (!has("files")) db.createObjectStore("files", { keyPath: ["entry", "number"] }).createIndex("entry", "entry")
  if (!has("drafts")) db.createObjectStore("drafts", { keyPath: "key" })
  if (!has("facts")) db.createObjectStore("facts", { keyPath: "name" })
}

/** The database; opened anew where another tab or the browser closed it. A newer page waits until older tabs let go. */
async function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION)
    request.onupgradeneeded = () => upgrade(request.result)
    request.onerror = () => reject(request.error)
    request.onsuccess = () => {
      const forget = () => (opened = null)
      request.result.onversionchange = () => (request.result.close(), forget())
      request.result.onclose = forget
      resolve(request.result)
    }
  })
  return opened.catch((error) => {
    opened = null
    throw error
  })
}

async function within(stores, mode, act) {
  for (let tries = 0; ; tries += 1) {
    try {
      const transaction = (await open()).transaction(stores, mode, mode === "readwrite" ? STRICT : undefined)
      const over = finished(transaction)
      over.catch(() => {}) // met where it is awaited, also when a request fails first
      const result = await act(transaction)
      await over
      return result
    } catch (error) {
      if (error?.name !== "InvalidStateError" || tries > 2) throw error
      opened = null // closed under our hands: once more
    }
  }
}

const put = (store, value) => within([store], "readwrite", (t) => done(t.objectStore(store).put(value)))
const all = (store) => within([store], "readonly", (t) => done(t.objectStore(store).getAll()))
const get = (store, key) => within([store], "readonly", (t) => done(t.objectStore(store).get(key)))
const remove = (store, key) => within([store], "readwrite", (t) => done(t.objectStore(store).delete(key)))

export const entries = () => all("entries")
export const entry = (id) => get("entries", id)

/** Keep entries, and forget the draft they come from: all of it or nothing. */
export function keepEntries(values, draftKey) {
  return within(["entries", "drafts"], "readwrite", async (t) => {
    for (const value of values) await done(t.objectStore("entries").put(value))
    if (draftKey) await done(t.objectStore("drafts").delete(draftKey))
  })
}

/** Change an entry as it stands now; nothing where it is gone. Gives what is kept. */
export function changeEntry(id, change) {
  return within(["entries"], "readwrite", async (t) => {
    const store = t.objectStore("entries")
    const there = await done(store.get(id))
    if (!there) return null
    const changed = change(there)
    if (changed !== there) await done(store.put(changed))
    return changed
  })
}

/** The files of an entry, in their order. */
export function filesOf(id) {
  return within(["files"], "readonly", (t) => done(t.objectStore("files").index("entry").getAll(id)))
}

/** Keep files, {entry, number, field, name, type, bytes}, in place of those of their entry, and let it go on: all or nothing. */
export function keepFiles(id, files, change) {
  return within(["entries", "files"], "readwrite", async (t) => {
    const [entries, kept] = [t.objectStore("entries"), t.objectStore("files")]
    for (const key of await done(kept.index("entry").getAllKeys(id))) await done(kept.delete(key))
    for (const file of files) await done(kept.put({ entry: id, ...file }))
    await done(entries.put(change(await done(entries.get(id)))))
  })
}

/** Make room: the files of what arrived, the oldest first. Gives whether there was anything to drop. */
export async function makeRoom(isSent) {
  const sent = (await entries()).filter((each) => isSent(each) && each.files.length && !each.filesDropped)
  const oldest = sent.sort((a, b) => a.sentAt - b.sentAt)[0]
  if (!oldest) return false
  await within(["entries", "files"], "readwrite", async (t) => {
    const kept = t.objectStore("files")
    for (const key of await done(kept.index("entry").getAllKeys(oldest.id))) await done(kept.delete(key))
    await done(t.objectStore("entries").put({ ...oldest, filesDropped: true }))
  })
  return true
}

/** Put two entries in place of one whose files are divided between them. */
export function divide(first, second) {
  return within(["entries", "files"], "readwrite", async (t) => {
    const [entries, files] = [t.objectStore("entries"), t.objectStore("files")]
    for (const each of [first, second]) await done(entries.put(each))
    const moved = new Set(second.files.map((file) => file.number))
    for (const file of await done(files.index("entry").getAll(first.id))) {
      if (!moved.has(file.number)) continue
      await done(files.delete([first.id, file.number]))
      await done(files.put({ ...file, entry: second.id }))
    }
  })
}

/** Take an entry away for good, with its files. */
export function forget(id) {
  return within(["entries", "files"], "readwrite", async (t) => {
    await done(t.objectStore("entries").delete(id))
    for (const key of await done(t.objectStore("files").index("entry").getAllKeys(id)))
      await done(t.objectStore("files").delete(key))
  })
}

export const draft = (key) => get("drafts", key)
export const keepDraft = (value) => put("drafts", value)
export const forgetDraft = (key) => remove("drafts", key)
export const fact = async (name) => (await get("facts", name))?.value ?? null
export const keepFact = (name, value) => put("facts", { name, value })

/** Keep a fact that only spares work: a phone without room goes on without it. */
export const note = (name, value) => keepFact(name, value).catch((error) => console.warn(name, error))

/** The id of this device; made once. */
export function device() {
  return within(["facts"], "readwrite", async (t) => {
    const store = t.objectStore("facts")
    const there = await done(store.get("device"))
    if (there) return there.value
    const value = crypto.randomUUID()
    await done(store.put({ name: "device", value }))
    return value
  })
}
