import assert from "node:assert/strict"
import { test } from "node:test"
import { isOn, meansSearch, turn } from "../../static/js/logic/search-key.js"

const page = { matches: () => false }
const field = { matches: (selector) => selector.includes("input") }
const pressed = (more) => ({ key: "/", ctrlKey: false, metaKey: false, altKey: false, defaultPrevented: false, ...more })

function kept(values = {}) {
  return {
    getItem: (name) => values[name] ?? null,
    setItem: (name, value) => (values[name] = value),
    removeItem: (name) => delete values[name],
  }
}

test("the bare key means to search, wherever nobody writes", () => {
  assert.equal(meansSearch(pressed(), page), true)
  assert.equal(meansSearch(pressed(), field), false)
})

test("other keys, with others held down, or taken by somebody else, do not", () => {
  for (const more of [{ key: "a" }, { ctrlKey: true }, { metaKey: true }, { altKey: true }, { defaultPrevented: true }])
    assert.equal(meansSearch(pressed(more), page), false)
})

test("it is on until it is turned off, and on again", () => {
  const store = kept()
  assert.equal(isOn(store), true)
  turn(store, false)
  assert.equal(isOn(store), false)
  turn(store, true)
  assert.equal(isOn(store), true)
})

test("where nothing can be kept the key works and nothing breaks", () => {
  const refuses = () => {
    throw new Error("refused")
  }
  const store = { getItem: refuses, setItem: refuses, removeItem: refuses }
  turn(store, false)
  assert.equal(isOn(store), true)
})
