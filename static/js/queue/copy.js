/* What waits, as a file that the office can take in where a phone cannot send. */

import { metaOf, SENT } from "../logic/queue.js"
import * as store from "./store.js"

const CHUNK = 0x8000

function base64(bytes) {
  const view = new Uint8Array(bytes)
  let text = ""
  for (let at = 0; at < view.length; at += CHUNK) text += String.fromCharCode(...view.subarray(at, at + CHUNK))
  return btoa(text)
}

async function withFiles(entry, now) {
  const files = await store.filesOf(entry.id)
  const told = files.map(({ field, name, type, bytes }) => ({ field, name, type, base64: base64(bytes) }))
  return { id: entry.id, meta: metaOf(entry, now), files: told }
}

const MOST_BYTES = 40_000_000 // of files in one copy; written out they take a third more

/** Everything of a person that is not on the server yet, in as many copies as its size asks for. */
export async function copiesOf(person) {
  const now = new Date().toISOString()
  const unsent = (await store.entries()).filter((entry) => entry.person === person && entry.state !== SENT)
  unsent.sort((a, b) => a.madeAt.localeCompare(b.madeAt) || a.number - b.number)
  const copies = []
  let room = 0
  for (const entry of unsent) {
    const size = entry.files.reduce((sum, file) => sum + file.size, 0)
    if (copies.length === 0 || size > room) {
      copies.push({
        format: "rainthrough field entries",
        schema: 1,
        device: await store.device(),
        person,
        saved_at: now,
        entries: [],
      })
      room = MOST_BYTES
    }
    copies.at(-1).entries.push(await withFiles(entry, now))
    room -= size
  }
  return copies
}
