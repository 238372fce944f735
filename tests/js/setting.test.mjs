import assert from "node:assert/strict"
import { test } from "node:test"
import { settingText } from "../../static/js/logic/setting.js"

test("the line says ring, prewet mass and seal as they stand", () => {
  const line = settingText({ diameter: "300 mm", prewetMass: "3.6 kg", seal: "Modelling clay" })

  assert.equal(line, "Ring 300 mm, 3.6 kg, Modelling clay")
})

test("what is not given is left out, but for the seal, which is to be said once", () => {
  assert.equal(settingText({ diameter: " mm", prewetMass: " kg", seal: "" }), "Ring, seal not said")
})
