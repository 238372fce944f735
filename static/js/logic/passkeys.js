/** What the browser's passkeys want as bytes goes over the wire as base64url text (RFC 4648, section 5). */

const BYTES_AT_A_TIME = 0x8000 // more arguments than that some browsers do not take

export function bytesOf(text) {
  const plain = text.replaceAll("-", "+").replaceAll("_", "/")
  return Uint8Array.from(atob(plain), (letter) => letter.charCodeAt(0))
}

export function textOf(buffer) {
  const bytes = new Uint8Array(buffer)
  let letters = ""
  for (let from = 0; from < bytes.length; from += BYTES_AT_A_TIME)
    letters += String.fromCharCode(...bytes.subarray(from, from + BYTES_AT_A_TIME))
  return btoa(letters).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "")
}

function known(passkeys = []) {
  return passkeys.map((passkey) => ({ ...passkey, id: bytesOf(passkey.id) }))
}

/** What to ask a device for a new passkey: one that it keeps itself, and gives out only after looking who is there. */
export function toMake({ publicKey }) {
  return {
    publicKey: {
      ...publicKey,
      challenge: bytesOf(publicKey.challenge),
      user: { ...publicKey.user, id: bytesOf(publicKey.user.id) },
      excludeCredentials: known(publicKey.excludeCredentials),
      authenticatorSelection: {
        ...publicKey.authenticatorSelection,
        residentKey: "required",
        requireResidentKey: true,
        userVerification: "required",
      },
    },
  }
}

/** What to ask a device for a passkey that it has. */
export function toUse({ publicKey }) {
  const allowCredentials = known(publicKey.allowCredentials)
  return { publicKey: { ...publicKey, challenge: bytesOf(publicKey.challenge), allowCredentials } }
}

const IN_BYTES = ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]

/** What the device answered, as plain data. */
export function answerOf(passkey) {
  const response = {}
  for (const name of IN_BYTES) {
    const part = passkey.response[name]
    if (part) response[name] = textOf(part)
  }
  const { id, type, authenticatorAttachment } = passkey
  const clientExtensionResults = passkey.getClientExtensionResults()
  return { id, rawId: textOf(passkey.rawId), type, authenticatorAttachment, response, clientExtensionResults }
}
