"""What care is worth until a firm says otherwise. Judgements of ours, no source."""

BELOW_PRICE_M2_YR = 4.0  # what a year below the limit is worth avoiding, money a square metre
FRESH_TEST_ABOVE = 2_000.0  # a restoration that costs more waits for a fresh test and a person's word
