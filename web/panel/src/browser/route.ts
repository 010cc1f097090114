// SPDX-License-Identifier: Apache-2.0
// Where the person is, kept in the address so that it can be reloaded, shared and gone back from.
import { signal } from '@preact/signals';

export type View = 'grid' | 'spectrum' | 'order' | 'journal' | 'alarms' | 'routes';
// Keys count them. The last one is not in every rack, so that those of the others stay.
export const views: readonly { view: View; title: string }[] = [
  { view: 'grid', title: 'Grid' },
  { view: 'spectrum', title: 'Spectrum' },
  { view: 'order', title: 'Order' },
  { view: 'journal', title: 'Journal' },
  { view: 'alarms', title: 'Alarms' },
  { view: 'routes', title: 'Routes' },
];

export interface Route {
  view: View;
  // Open beside the grid.
  node?: string;
  query: URLSearchParams;
}

export function read(hash: string): Route {
  const [path = '', search = ''] = hash.replace(/^#\/?/, '').split('?');
  const [first, ...rest] = path.split('/');
  const query = new URLSearchParams(search);
  if (first === 'node' && rest.length > 0) {
    try {
      return { view: 'grid', node: decodeURIComponent(rest.join('/')), query };
    } catch {
      return { view: 'grid', query };
    }
  }
  return { view: views.find(({ view }) => view === first)?.view ?? 'grid', query };
}

export const toNode = (name: string): string => `#/node/${encodeURIComponent(name)}`;
// The matrix that a cable ends at, with one of its inputs in hand.
export const toInput = ({ matrix, input }: { matrix: string; input?: number }): string =>
  toView('routes', { matrix, ...(input === undefined ? {} : { input: String(input) }) });
export const toView = (view: View, query: Record<string, string> = {}): string => {
  const search = new URLSearchParams(query).toString();
  return `#/${view}${search ? `?${search}` : ''}`;
};

export const route = signal<Route>(read(''));

export function startRouting(): void {
  const follow = (): void => void (route.value = read(location.hash));
  addEventListener('hashchange', follow);
  follow();
}
