// SPDX-License-Identifier: Apache-2.0
// The three ways to use the page. Each does the same things by its own means only: `keyboard` never
// touches the mouse, and finds its way by Tab as a person would.
import assert from 'node:assert/strict';

import { eventually } from './eventually.mjs';

export async function tabTo(locator) {
  await locator.waitFor();
  const page = locator.page();
  for (let i = 0; i < 600; ++i) {
    if (await locator.evaluate((element) => element === document.activeElement)) return;
    await page.keyboard.press('Tab');
  }
  assert.fail(`Tab does not lead to ${locator}`);
}

// A finger's tap that the page never gets as a press, because the layout moved under it or the button was
// just being checked anew, is made again, as a person does who sees that nothing happened.
async function tapUntilPressed(locator) {
  for (let i = 0; i < 5; ++i) {
    await locator.waitFor();
    const pressed = locator.evaluate((element) => new Promise((resolve) => {
      element.addEventListener('click', () => resolve(true), { once: true });
      setTimeout(() => resolve(false), 3000);
    }));
    await locator.tap();
    // What goes away with the press, its page included, was pressed.
    if (await pressed.catch(() => true)) return;
  }
  assert.fail(`no tap presses ${locator}`);
}

// Waits until it is seen; what the page says instead is in the complaint.
export async function seen(locator) {
  try {
    await locator.waitFor();
  } catch (error) {
    error.message += `\nthe page says:\n${await locator.page().locator('body').innerText()}`;
    throw error;
  }
}

export const hands = {
  mouse: {
    size: 'desk',
    press: (locator) => locator.click(),
    write: (locator, text) => locator.fill(text),
  },
  touch: {
    size: 'phone',
    press: tapUntilPressed,
    write: async (locator, text) => {
      await locator.tap();
      await locator.fill(text);
    },
  },
  keyboard: {
    size: 'desk',
    press: async (locator) => {
      // What is disabled cannot be reached; it is waited for as a person would.
      await eventually(`${locator} can be pressed`, () => locator.isEnabled());
      await tabTo(locator);
      await locator.page().keyboard.press('Enter');
    },
    write: async (locator, text) => {
      await tabTo(locator);
      await locator.page().keyboard.press('Control+A');
      await locator.page().keyboard.type(text);
    },
  },
};

// Sends the edit that is open. Where the rules have a caution somebody answers for it, once it is pressed.
export async function changeIt(page, hand) {
  const change = page.getByRole('form', { name: 'The change' });
  const button = change.getByRole('button', { name: /^Change it/ });
  const reason = change.getByLabel('Reason');
  await eventually('there is a verdict', async () => (await button.isEnabled()) || (await reason.isVisible()));
  if (/…$/.test(await button.innerText())) {
    await hand.press(button);
    await reason.waitFor();
  }
  if (await reason.isVisible()) {
    await hand.write(change.getByLabel('Who answers for it'), 'ana');
    await hand.write(reason, 'heard at the rehearsal');
  }
  await hand.press(button);
}

// The same, until the node has read it back. On a machine that is busy enough a node seems silent for
// as long as the daemon tries; the page says so and keeps the edit, and a person sends it again.
export async function changeAndSee(page, hand, node) {
  const done = page.getByText(`Done: ${node} has read back`).first();
  const silent = page.getByRole('form', { name: 'The change' }).getByText('did not answer');
  const sayings = silent.and(page.locator(':not([data-read])'));
  for (const giveUp = Date.now() + 60_000; Date.now() < giveUp; ) {
    await silent.evaluateAll((all) => all.forEach((said) => (said.dataset.read = '')));
    await changeIt(page, hand);
    await seen(done.or(sayings).first());
    if (await done.isVisible()) return;
  }
  await seen(done);
}

// Answers for the way that an open dialog asks about, if it needs that. Whether it does is known when
// the way is found, and not before: a dialog that is open already may still be without its verdict.
export async function answerForTheWay(dialog, hand) {
  await dialog.getByText(/^It can go/).waitFor();
  const reason = dialog.getByLabel('Reason');
  if (!(await reason.isVisible())) return;
  await hand.write(dialog.getByLabel('Who answers for it'), 'ana');
  await hand.write(reason, 'heard at the rehearsal');
}
