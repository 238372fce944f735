/** Show and serve a print button; without JavaScript the browser's own menu prints. */
export function enhance(button) {
  button.hidden = false
  button.addEventListener("click", () => print())
}
