/**
 * What scripts say, in the language of the page. Its texts come with the page, so that they are there without signal; a
 * page in English brings none. English stands in the code: `_("Stopped after {time} s", { time })`.
 */

const ENGLISH = { language: "en-gb", texts: {} }
let words = brought() ?? ENGLISH
let one = new Intl.PluralRules(words.language)

function brought() {
  const block = globalThis.document?.getElementById("script-words")
  return block ? JSON.parse(block.textContent) : null
}

/** Speak another language from now on: {language, texts}, a text that is counted as [for one, for many]. */
export function speak(other = ENGLISH) {
  words = other
  one = new Intl.PluralRules(words.language)
}

/** All that the page brought; null where it is in English. */
export function spoken() {
  return words === ENGLISH ? null : words
}

function filled(text, values) {
  return text.replace(/\{(\w+)\}/g, (hole, name) => String(values[name] ?? hole))
}

/** A text in the language of the page, its holes filled. */
export function gettext(text, values = {}) {
  return filled(words.texts[text] ?? text, values)
}

/** The text for so many things. */
export function ngettext(single, many, number, values = {}) {
  const [forOne, forMany] = words.texts[single] ?? [single, many]
  return filled(one.select(number) === "one" ? forOne : forMany, { count: number, ...values })
}

/** A number written with "." before decimals, as the language of the page writes it. */
export function marked(number) {
  return words === ENGLISH ? number : number.replace(".", (0.5).toLocaleString(words.language).at(1))
}

/** A moment in the language of the page; in English as the device writes it. */
export function moment(time) {
  return new Date(time).toLocaleString(words === ENGLISH ? undefined : words.language)
}
