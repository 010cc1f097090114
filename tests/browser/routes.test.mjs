// SPDX-License-Identifier: Apache-2.0
// The matrix in the rack, by mouse, by touch at 390 × 844, and by keyboard alone: what is on an input is
// named, and routed to another receiver; under the show lock that is refused, and an armed cue moves it.
// What the page says is held against what the API says.
import assert from 'node:assert/strict';
import { describe, it } from 'node:test';

import { manyRacks, withRack } from './beginnings.mjs';
import { visit } from './browser.mjs';
import { eventually } from './eventually.mjs';
import { answerForTheWay, changeAndSee, hands, seen, tabTo } from './hands.mjs';
import { Rack } from './rack.mjs';

manyRacks();

// In the next cue the choir hears other antennas.
const toTheFinale = (setup, show) => {
  show.running_order.cues = [{ segment: 'arrival' }, { segment: 'finale' }];
};

const cellOf = (page, antenna, output) =>
  page.getByRole('row').filter({ has: page.getByRole('rowheader', { name: antenna }) })
    .getByRole('gridcell', { name: new RegExp(`^${output}:`) });

// The cell that Tab comes to, and from there by arrows.
async function toCell(page, row, column) {
  await tabTo(page.getByRole('grid').locator('[tabindex="0"]'));
  await page.keyboard.press('Control+Home');
  for (let i = 0; i < row; ++i) await page.keyboard.press('ArrowDown');
  for (let i = 0; i < column; ++i) await page.keyboard.press('ArrowRight');
}

// How each takes an input in hand, and routes it to an output or away from it.
const ways = {
  mouse: {
    take: (page, { antenna }) => page.getByRole('rowheader', { name: antenna }).click(),
    toggle: (page, { antenna }, { receiver }) => cellOf(page, antenna, receiver).click(),
    stands: (page, { antenna }, { receiver }, word) => cellOf(page, antenna, receiver)
      .and(page.getByRole('gridcell', { name: `${receiver}: ${word}` })).waitFor(),
  },
  touch: {
    take: (page, { input, antenna }) => page.getByLabel('Input in hand').selectOption(`${input}: ${antenna}`),
    toggle: async (page, { antenna }, { output, receiver }) => {
      await page.getByLabel('Output', { exact: true }).selectOption(`${output}: ${receiver}`);
      await hands.touch.press(page.getByRole('checkbox', { name: antenna }));
    },
    stands: async (page, { antenna }, { output, receiver }, word) => {
      await page.getByLabel('Output', { exact: true }).selectOption(`${output}: ${receiver}`);
      await seen(page.getByRole('listitem').filter({ hasText: antenna }).getByText(word, { exact: true }));
    },
  },
  keyboard: {
    take: async (page, { input }) => {
      await toCell(page, input - 1, 0);
      await page.keyboard.press('Enter');
    },
    toggle: async (page, { input }, { output }) => {
      await toCell(page, input - 1, output);
      await page.keyboard.press('Space');
    },
    stands: (page, from, to, word) => ways.mouse.stands(page, from, to, word),
  },
};

const trussLeft = { input: 3, antenna: 'truss-left' };
const pontoonStern = { input: 5, antenna: 'pontoon-stern' };
const presentersA = { output: 1, receiver: 'presenters A' };
const vocalsA = { output: 3, receiver: 'vocals A' };

const shore = async (rack) => (await rack.ask('GET', '/matrices/shore')).body;
const hears = async (rack, { output }) => (await shore(rack)).outputs[output - 1].hears;

for (const [name, hand] of Object.entries(hands)) {
  const { take, toggle, stands } = ways[name];
  describe(`by ${name}`, () => {
    it('what is on an input is named, and routed to another receiver as well', () =>
      withRack(() => Rack.harbour(), async (rack) => {
        await rack.ready();
        const page = await visit(rack, { size: hand.size, at: '#/routes', name: 'ana' });
        await take(page, trussLeft);
        const part = page.getByRole('region', { name: 'Input 3: truss-left' });
        await seen(part.getByText('heard by vocals A'));
        await hand.write(part.getByLabel('Label of the input'), 'choir left');
        await toggle(page, trussLeft, presentersA);
        await stands(page, trussLeft, presentersA, 'to add');
        assert.deepEqual(await hears(rack, presentersA), ['pontoon-bow'], 'nothing is sent yet');
        await changeAndSee(page, hand, 'shore');
        const matrix = await shore(rack);
        assert.deepEqual(matrix.outputs[0].hears, ['pontoon-bow', 'truss-left']);
        assert.equal(matrix.seen.settings.labels[3], 'choir left');
        assert.equal(matrix.agreement, 'agreed');
        assert.equal(matrix.inputs[2].measured.current_ma > 0, true);
        await stands(page, trussLeft, presentersA, 'heard');
        await seen(part.getByText('heard by presenters A and vocals A'));
        const { entries } = (await rack.ask('GET', '/journal?node=shore&kind=intent')).body;
        assert.equal(entries[0].who, 'ana');
        assert.match(entries[0].what, /output 1: 1 → 1\+3/);
        assert.deepEqual(page.complaints, []);
      }));

    it('under the show lock that is tried out and not sent, and an armed cue moves routes', () =>
      withRack(() => Rack.harbour(toTheFinale), async (rack) => {
        await rack.ready();
        await rack.ask('POST', '/rack/lock', {}, { 'Catwalk-User': 'mara' });
        const page = await visit(rack, { size: hand.size, at: '#/routes', name: 'ana' });
        await seen(page.getByText('The rack is locked by mara: routes can be tried out here, not sent.'));
        await toggle(page, trussLeft, presentersA);
        const change = page.getByRole('form', { name: 'The change' });
        await seen(change.getByText('The rack is locked by mara: this can be tried out, not sent.'));
        assert.equal(await change.getByRole('button', { name: /^Change it/ }).isDisabled(), true);
        const { etag } = await rack.ask('GET', '/matrices/shore/settings');
        const refused = await rack.ask('PATCH', '/matrices/shore/settings', { routes: { 1: [1, 3] } }, { 'If-Match': etag });
        assert.equal(refused.body.findings.some(({ rule }) => rule === 'show-locked'), true, JSON.stringify(refused.body));
        await hand.press(change.getByRole('button', { name: 'Drop the edits' }));
        assert.deepEqual(await hears(rack, presentersA), ['pontoon-bow']);

        await page.goto(`${rack.url}/#/order`);
        await hand.press(page.getByRole('button', { name: 'Arm …' }));
        const dialog = page.getByRole('dialog');
        await answerForTheWay(dialog, hand);
        await hand.press(dialog.getByRole('button', { name: 'Arm it' }));
        await dialog.waitFor({ state: 'hidden' });
        await hand.press(page.getByRole('button', { name: 'Go …' }));
        await answerForTheWay(dialog, hand);
        await hand.press(dialog.getByRole('button', { name: 'Go now' }));
        await dialog.waitFor({ state: 'hidden' });
        await seen(page.getByRole('region', { name: 'The switch' }).getByRole('heading', { name: /: done$/ }));
        assert.deepEqual(await hears(rack, vocalsA), ['pontoon-stern']);
        await page.goto(`${rack.url}/#/routes`);
        await stands(page, pontoonStern, vocalsA, 'heard');
        assert.equal((await rack.ask('GET', '/rack')).body.locked, true);
        assert.deepEqual(page.complaints, []);
      }));
  });
}

describe('a supply that is cut', () => {
  it('is one alarm with its cause on the page, and what follows stands under it', () =>
    withRack(() => Rack.harbour((setup) => {
      setup.lines[0].script.push('at 3s short 7a10-00000901 1 on');
    }), async (rack) => {
      await rack.ready();
      const page = await visit(rack, { at: '#/alarms', name: 'ana' });
      await seen(page.getByText(/^Input 1 of shore has let go, since more current was drawn than it gives/).first());
      await eventually('all of it stands under its cause', async () => {
        const { alarms } = (await rack.ask('GET', '/alarms')).body;
        const cause = alarms.find(({ kind }) => kind === 'not-fed');
        const rest = alarms.filter(({ id, active }) => active && id !== cause?.id);
        return rest.some(({ kind }) => kind === 'passive') && rest.every(({ under }) => under === cause?.id);
      });
      await page.getByText(/^and 1 alarm that follows from it/).click();
      await seen(page.getByText(/presenters hears presenter-\d [\d.]+ dB less by it/).first());
      assert.deepEqual(page.complaints, []);
    }));
});
