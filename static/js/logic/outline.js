/* The outline of a surface as text, one corner a line, x and y in metres, and as points to draw. */

/** Corners that can be read so far; lines that are not two numbers are left out. */
export function cornersOf(text) {
  return text
    .split("\n")
    .map((line) => line.replaceAll(/[;,]/g, " ").trim().split(/\s+/).map(Number))
    .filter((pair) => pair.length === 2 && pair.every(Number.isFinite))
}

export function textOf(corners) {
  return corners.map(([x, y]) => `${x} ${y}`).join("\n")
}

/** The window of the drawing board in metres: all corners with room around them, never under 10 m. */
export function boardOf(corners) {
  const xs = corners.map(([x]) => x)
  const ys = corners.map(([, y]) => y)
  const left = Math.min(0, ...xs)
  const bottom = Math.min(0, ...ys)
  const size = Math.max(10, Math.max(...xs, 0) - left, Math.max(...ys, 0) - bottom)
  const room = size * 0.15
  return { left: left - room, bottom: bottom - room, size: size + 2 * room }
}

/** A round step of the grid that gives about ten lines. */
export function stepOf(size) {
  const power = 10 ** Math.floor(Math.log10(size / 10))
  return [1, 2, 5, 10].map((n) => n * power).find((step) => size / step <= 12)
}

/** A point on the board (shares of its width and height from the top left) as metres, to half a grid step. */
export function cornerAt(board, right, down) {
  const snap = stepOf(board.size) / 2
  const metres = [board.left + right * board.size, board.bottom + (1 - down) * board.size]
  return metres.map((value) => Number((Math.round(value / snap) * snap).toFixed(3)))
}
