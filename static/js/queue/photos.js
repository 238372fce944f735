/* Photos made smaller on the device: what a telephone takes is five times what anybody looks at. */

const LONGEST_SIDE = 2_400
const QUALITY = 0.82
const SMALL_ENOUGH = 700_000
const KEEPS = "keep_location" // a copy made by the browser has lost where and when it was taken

/** A chosen file as it is kept: {name, type, bytes}. What is no photo, or is small, is read as it is. */
export async function readFile(file, form) {
  const smaller = form.elements.namedItem(KEEPS)?.checked ? null : await madeSmaller(file)
  const bytes = await (smaller ?? file).arrayBuffer()
  return smaller
    ? { name: jpegName(file.name), type: "image/jpeg", bytes }
    : { name: file.name, type: file.type, bytes }
}

const jpegName = (name) => `${name.replace(/\.[^.]+$/, "")}.jpg`

async function madeSmaller(file) {
  if (!file.type.startsWith("image/") || file.size <= SMALL_ENOUGH) return null
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" })
    const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height))
    const canvas = document.createElement("canvas")
    canvas.width = Math.round(picture.width * scale)
    canvas.height = Math.round(picture.height * scale)
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height)
    picture.close()
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY))
    return blob && blob.size < file.size ? blob : null
  } catch {
    return null // not a picture this browser reads: the server says what it thinks of it
  }
}
