import { answerOf, toMake, toUse } from "./logic/passkeys.js"
import { gettext as _ } from "./words.js"

/**
 * A form that a passkey fills: `data-passkey` says "make" or "use", `data-asked` names what the server asks, a block
 * of the page or an address. Without passkeys in the browser, or by another way than https, it stays hidden.
 */

async function askedBy(form) {
  const block = document.getElementById(form.dataset.asked)
  if (block) return JSON.parse(block.textContent)
  const headers = { Accept: "application/json", "X-Requested-With": "XMLHttpRequest" }
  const response = await fetch(form.dataset.asked, { headers })
  if (!response.ok) throw new Error(`${response.status}`)
  return response.json()
}

async function answered(form) {
  const asked = await askedBy(form)
  const passkey =
    form.dataset.passkey === "make"
      ? await navigator.credentials.create(toMake(asked.creation_options))
      : await navigator.credentials.get(toUse(asked.request_options))
  return JSON.stringify(answerOf(passkey))
}

function said(error) {
  if (error.name === "NotAllowedError") return _("Nothing was done: it was cancelled, or took too long. Try again.")
  if (error.name === "InvalidStateError") return _("This device keeps a passkey for your account already.")
  if (error instanceof TypeError) return _("The server was not reached. Try again with a connection.")
  return _("This did not work: {reason}. Try again, or use another way.", { reason: error.message || error.name })
}

export function enhance(form) {
  if (!globalThis.PublicKeyCredential) return
  const [button, words] = [form.querySelector("[data-passkey-press]"), form.querySelector("[data-passkey-said]")]
  form.hidden = false
  for (const other of document.querySelectorAll("[data-no-passkeys]")) other.hidden = true
  button.addEventListener("click", async () => {
    button.disabled = true
    words.textContent = ""
    try {
      form.elements.credential.value = await answered(form)
      form.requestSubmit()
    } catch (error) {
      words.textContent = said(error)
    } finally {
      button.disabled = false
    }
  })
}
