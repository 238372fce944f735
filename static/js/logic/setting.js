/* What stays the same from spot to spot of a round. */

import { gettext as _ } from "../words.js"

/**
 * Ring, prewet mass and seal in few words; what is not given is left out but for the seal, which is asked once.
 *
 * @param {{diameter: string, prewetMass: string, seal: string}} setting - each with its unit; empty where not given
 */
export function settingText({ diameter, prewetMass, seal }) {
  const given = (words) => /\d/.test(words)
  const parts = [
    given(diameter) ? _("Ring {diameter}", { diameter }) : _("Ring"),
    ...(given(prewetMass) ? [prewetMass] : []),
    seal || _("seal not said"),
  ]
  return parts.join(", ")
}
