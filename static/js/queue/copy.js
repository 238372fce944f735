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

/** Everything of a person that is not on the server yet. */
export async function copyOf(person) {
  const now = new Date().toISOString()
  const unsent = (await store.entries()).filter((entry) => entry.person === person && entry.state !== SENT)
  unsent.sort((a, b) => a.madeAt.localeCompare(b.madeAt) || a.number - b.number)
  const entries = []
  for (const entry of unsent) entries.push(await withFiles(entry, now))
  return {
    format: "rainthrough field entries",
    schema: 1,
    device: await store.device(),
    person,
    saved_at: now,
    entries,
  }
}
