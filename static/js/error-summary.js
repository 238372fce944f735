/** A form that came back with errors starts at their list, so that nobody hunts for them. */
export function enhance(summary) {
  summary.focus()
}
