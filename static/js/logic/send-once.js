/** How long an answer is waited for before the button works again, in ms: the sending may have been stopped by hand. */
export const UNANSWERED_MS = 20_000

/** Whether a form may be sent now. sentAt: when it last was, in ms since 1970; null where it was not. */
export function maySend(sentAt, now) {
  return sentAt === null || now - sentAt >= UNANSWERED_MS
}
