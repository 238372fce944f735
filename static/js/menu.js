/** A details element used as a menu closes on Escape and when one goes elsewhere. */
export function enhance(menu) {
  menu.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !menu.open) return
    menu.open = false
    menu.querySelector("summary").focus()
  })
  document.addEventListener("click", (event) => {
    if (!menu.contains(event.target)) menu.open = false
  })
  menu.addEventListener("focusout", (event) => {
    if (event.relatedTarget && !menu.contains(event.relatedTarget)) menu.open = false
  })
}
