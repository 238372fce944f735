/** Tell when the readings were taken by the clock of this device, however late they arrive. */
export function enhance(input) {
  const tell = () => (input.value ||= new Date().toISOString())
  input.form.addEventListener("submit", tell, { capture: true }) // before the draft of what is sent is kept
}
