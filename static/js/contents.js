/** Fill a fold at the head of a long page with a link to each of its sections; it stays away where there are few. */
export function enhance(box) {
  const heads = [...document.querySelectorAll("main .section__title h2[id]")].filter((head) => head.checkVisibility())
  if (heads.length < Number(box.dataset.contents)) return
  const links = heads.map((head) => {
    const link = Object.assign(document.createElement("a"), { href: `#${head.id}`, textContent: head.textContent.trim() })
    const line = document.createElement("li")
    line.append(link)
    return line
  })
  box.querySelector("ul").replaceChildren(...links)
  box.hidden = false
}
