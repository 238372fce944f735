/** Show an entry only while the way chosen asks for it; what is not shown is not sent. */
export function enhance(input) {
  const asked = input.dataset.askedBy.split(" ")
  const place = input.closest(".field")

  function follow() {
    const method = new FormData(input.form).get("method")
    place.hidden = method !== null && !asked.includes(method)
    input.disabled = place.hidden
  }

  input.form.addEventListener("change", follow)
  follow()
}
