/* On the page to sign in: the kept pages of whoever was signed in are taken away. What waits to be sent stays. */

import { forgetOthers } from "./pages.js"
import * as store from "./store.js"

export async function enhance() {
  if (!isSecureContext || !("caches" in self)) return
  await forgetOthers(null)
  await store.keepFact("pagesOf", null)
  await store.keepFact("pageStamps", {})
}
