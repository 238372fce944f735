/* Photos made smaller on the device: what a telephone takes is five times what anybody looks at. */

const LONGEST_SIDE = 2_400
const QUALITY = 0.82
const SMALL_ENOUGH = 700_000

/** What was chosen in a control, read at once: a file may be gone from its place when the form is saved. */
export async function readFiles(control) {
  const one = async (file) => ({
    field: control.name,
    name: file.name,
    type: file.type,
    bytes: await file.arrayBuffer(),
  })
  return Promise.all([...control.files].map(one))
}

/** Whether the form asks to keep where and when its photos were taken, which a copy made by the browser has lost. */
function keepsPlace(form, field) {
  return form.elements.namedItem(field.replace(/photos$/, "keep_location"))?.checked ?? false
}

/** The files as they are kept: photos made smaller, all else as it is. */
export async function keptFiles(files, form) {
  const kept = []
  for (const file of files) kept.push(keepsPlace(form, file.field) ? file : await smaller(file)) // one at a time: memory
  return kept
}

const jpegName = (name) => `${name.replace(/\.[^.]+$/, "")}.jpg`

async function smaller(file) {
  if (!file.type.startsWith("image/") || file.bytes.byteLength <= SMALL_ENOUGH) return file
  try {
    const blob = await drawnSmall(new Blob([file.bytes], { type: file.type }))
    if (!blob || blob.size >= file.bytes.byteLength) return file
    return { ...file, name: jpegName(file.name), type: "image/jpeg", bytes: await blob.arrayBuffer() }
  } catch {
    return file // not a picture this browser reads: the server says what it thinks of it
  }
}

async function drawnSmall(blob) {
  const picture = await createImageBitmap(blob, { imageOrientation: "from-image" })
  const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height))
  const canvas = document.createElement("canvas")
  canvas.width = Math.round(picture.width * scale)
  canvas.height = Math.round(picture.height * scale)
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height)
  picture.close()
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY))
}
