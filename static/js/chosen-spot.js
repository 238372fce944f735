/** Of the spots told of in the box, keep the one in sight that the form's location field names; all where it names none. */
export function enhance(box) {
  const chosen = box.closest("form").elements.namedItem("location")
  const spots = [...box.querySelectorAll("[data-spot]")]
  const show = () => {
    const known = spots.some((spot) => spot.dataset.spot === chosen.value)
    for (const spot of spots) spot.hidden = known && spot.dataset.spot !== chosen.value
  }
  chosen.addEventListener("change", show)
  show()
}
