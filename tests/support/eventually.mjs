// SPDX-License-Identifier: Apache-2.0
// Conditions instead of times: what is waited for, with a patience that only a failure uses up.

const patience = 120_000;

// The first value that `look` gives which is not undefined or false. `look` may be asynchronous.
export async function eventually(what, look) {
  const deadline = Date.now() + patience;
  for (;;) {
    const found = await look();
    if (found !== undefined && found !== false) return found;
    if (Date.now() > deadline) throw new Error(`never came: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
