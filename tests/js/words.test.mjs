import assert from "node:assert/strict"
import { afterEach, test } from "node:test"

import { localeOf } from "../../static/js/logic/chart-locale.js"
import { repeatText } from "../../static/js/logic/repeats.js"
import { gettext, marked, ngettext, speak, spoken } from "../../static/js/words.js"

const FRENCH = {
  language: "fr",
  texts: {
    "{count} file": ["{count} fichier", "{count} fichiers"],
    "Stopped at {time} seconds": "Arrêté à {time} secondes",
    "The end of the first was not recorded: prewet again.": "La fin du premier manque : mouillez de nouveau.",
  },
}

afterEach(() => speak())

test("without words of the page the code's own English stands", () => {
  assert.equal(gettext("Stopped at {time} seconds", { time: marked("1.5") }), "Stopped at 1.5 seconds")
  assert.equal(ngettext("{count} file", "{count} files", 0), "0 files")
  assert.equal(spoken(), null)
})

test("a text and its number are in the language of the page", () => {
  speak(FRENCH)

  assert.equal(gettext("Stopped at {time} seconds", { time: marked("1.5") }), "Arrêté à 1,5 secondes")
  assert.equal(spoken(), FRENCH)
})

test("things are counted as the language counts: in French none is one", () => {
  speak(FRENCH)

  const said = [0, 1, 2].map((count) => ngettext("{count} file", "{count} files", count))
  assert.deepEqual(said, ["0 fichier", "1 fichier", "2 fichiers"])
})

test("what a language lacks is said in English, a hole that nobody fills stays", () => {
  speak(FRENCH)

  assert.equal(gettext("Start {what}"), "Start {what}")
})

test("words are looked up when they are said", () => {
  speak(FRENCH)

  assert.match(repeatText({ tests: 1, ended_ms: null }, 0, 5), /La fin du premier manque/)
})

test("a chart writes months, days and numbers as the language does", () => {
  const { locale, locales } = localeOf("fr")
  const { months, shortMonths, days, decimal, thousands } = locales[locale].format

  assert.deepEqual([months[0], months[1], months[11]], ["janvier", "février", "décembre"])
  assert.equal(new Set(shortMonths).size, 12)
  assert.deepEqual([days[0], days[6]], ["dimanche", "samedi"])
  assert.equal(decimal, ",")
  assert.match(thousands, /\s/)
})
