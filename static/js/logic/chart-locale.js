/* How the drawing library writes days and numbers in a language, from what the browser knows of it. */

const SUNDAY = Date.UTC(2023, 0, 1)
const DAY_MS = 24 * 3_600_000

function names(language, count, step, options) {
  const format = new Intl.DateTimeFormat(language, { ...options, timeZone: "UTC" })
  return Array.from({ length: count }, (none, n) => format.format(SUNDAY + n * step))
}

function marksOf(language) {
  const parts = new Intl.NumberFormat(language).formatToParts(1234567.8)
  const mark = (type) => parts.find((part) => part.type === type)?.value ?? ""
  return { decimal: mark("decimal"), thousands: mark("group") }
}

/**
 * Settings of a chart in another language than English, which the library speaks by itself.
 *
 * @param {string} language - as the page's words name it, such as "fr"
 */
export function localeOf(language) {
  const month = 31 * DAY_MS // from the first of January each step lies in the next month
  const format = {
    days: names(language, 7, DAY_MS, { weekday: "long" }),
    shortDays: names(language, 7, DAY_MS, { weekday: "short" }),
    months: names(language, 12, month, { month: "long" }),
    shortMonths: names(language, 12, month, { month: "short" }),
    date: "%d/%m/%Y",
    year: "%Y",
    month: "%b %Y",
    dayMonth: "%-d %b",
    dayMonthYear: "%-d %b %Y",
    ...marksOf(language),
  }
  return { locale: language, locales: { [language]: { dictionary: {}, format } } }
}
