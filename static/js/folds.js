/** A fold opens for an address that leads into it, and for paper, where nobody can open it. */
export function enhance(fold) {
  const called = () => {
    const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)))
    if (target && fold.contains(target)) fold.open = true
  }
  let forPaper = false
  addEventListener("hashchange", called)
  addEventListener("beforeprint", () => {
    forPaper = !fold.open
    fold.open = true
  })
  addEventListener("afterprint", () => {
    if (forPaper) fold.open = false
  })
  called()
}
