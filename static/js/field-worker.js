/*
 * Answers with what the page kept where the server cannot be reached; sends nothing and keeps nothing by itself.
 *
 * A new one waits until every page of the old one is closed, so that no form changes under anybody's hands.
 */
const PATIENCE_MS = 6_000
const SHELL = "shell"
const IN_ONE_WAY_ONLY = ["/my-day/", "/tests/new/"] // another query is another page
const PAGE_ONLY = ["entry", "queued", "next", "saved"]
const [WORDS, WORDS_AT] = ["words", "/words.json"] // of the language of the last page; none in English
const keptClients = new Set()
const gettext_noop = (text) => text // found where it is shown

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()))

self.addEventListener("fetch", (event) => {
  const { request } = event
  const url = new URL(request.url)
  if (url.origin !== self.location.origin) return
  if (request.mode === "navigate") event.respondWith(page(event, url))
  else if (request.method === "GET" && url.pathname.startsWith("/static/")) event.respondWith(part(event))
})

/** A script or picture: the kept one for a kept page, so that both are of one version; else the server's, as long as it answers. */
async function part(event) {
  const kept = async () => (await caches.open(SHELL)).match(event.request, { ignoreVary: true })
  if (keptClients.has(event.clientId)) return (await kept()) ?? fetch(event.request)
  try {
    return await fetch(event.request)
  } catch (error) {
    const there = await kept()
    if (there) return there
    throw error
  }
}

async function page(event, url) {
  const { request } = event
  if (request.method !== "GET") return fetch(request).catch(() => notSent())
  const kept = await keptPage(url)
  try {
    return await within(fetch(request), kept ? PATIENCE_MS : Infinity)
  } catch {
    return kept ? shown(kept, event.resultingClientId) : missing(url, event.resultingClientId)
  }
}

function within(answer, ms) {
  if (ms === Infinity) return answer
  return Promise.race([answer, new Promise((_, reject) => setTimeout(() => reject(new Error("too slow")), ms))])
}

/** The kept copy of an address: with its whole query, without what is for the page alone, or, where that is no matter, with any. */
async function keptPage(url) {
  const plain = new URL(url)
  for (const name of PAGE_ONLY) plain.searchParams.delete(name)
  const isExact = IN_ONE_WAY_ONLY.some((path) => url.pathname.includes(path))
  for (const name of (await caches.keys()).filter((each) => each.startsWith("kept-"))) {
    const cache = await caches.open(name)
    const options = { ignoreVary: true }
    const found = (await cache.match(url.href, options)) ?? (await cache.match(plain.href, options))
    const any = found ?? (isExact ? undefined : await cache.match(plain.href, { ...options, ignoreSearch: true }))
    if (any) return any
  }
  return undefined
}

/** A kept page that says that it is one. */
async function shown(kept, client) {
  keptClients.add(client)
  const at = kept.headers.get("X-Kept-At") ?? ""
  const text = (await kept.text()).replace("<html ", `<html data-kept="${at}" `)
  return new Response(text, { headers: kept.headers })
}

async function missing(url, client) {
  const phone = await keptPage(new URL("/field/phone/", url))
  if (!phone || url.pathname === "/field/phone/")
    return plainly(
      gettext_noop("No signal"),
      gettext_noop("This page is not kept on this phone. Try again where there is signal."),
    )
  const answer = await shown(phone, client)
  const text = (await answer.text()).replace("<html ", "<html data-missing ")
  return new Response(text, { headers: answer.headers })
}

function notSent() {
  return plainly(
    gettext_noop("No signal: nothing was sent"),
    gettext_noop("Nothing is stored. Go back: what you typed is still there. Send it again where there is signal."),
  )
}

async function wordsKept() {
  const kept = await (await caches.open(WORDS)).match(WORDS_AT).catch(() => undefined)
  return kept ? kept.json() : { language: "en", texts: {} }
}

async function plainly(...said) {
  const { language, texts } = await wordsKept()
  const [title, text, home] = [...said, gettext_noop("First page")].map((each) => texts[each] ?? each)
  const body = `<!DOCTYPE html><html lang="${language}"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>${title}</title><body style="font: 1.1rem/1.5 sans-serif; margin: 2rem; max-width: 34rem"><h1>${title}</h1><p>${text}</p>
<p><a href="/">${home}</a></p></body></html>`
  return new Response(body, {
    status: 503,
    headers: { "Content-Type": "text/html; charset=utf-8", "Cache-Control": "no-store" },
  })
}
