// SPDX-License-Identifier: Apache-2.0
// Keys that work everywhere. None of them acts while somebody types, and none uses a modifier, so
// that those of the browser and of a screen reader stay theirs.
import { route, toView } from '../browser/route';
import { keysOfTheView } from '../ui/view_keys';
import { helpOpen } from './help';
import { offered } from './offered';

function isTyping(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false;
  if (
    target.isContentEditable ||
    target instanceof HTMLTextAreaElement ||
    target instanceof HTMLSelectElement
  )
    return true;
  return (
    target instanceof HTMLInputElement &&
    !['radio', 'checkbox', 'range', 'button'].includes(target.type)
  );
}

export function onKey(event: KeyboardEvent): void {
  if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey) return;
  if (document.querySelector('dialog[open]')) return;
  if (event.key === 'Escape' && route.value.node !== undefined) {
    if (isTyping(event.target)) (event.target as HTMLElement).blur();
    else location.hash = toView('grid');
    return;
  }
  if (isTyping(event.target)) return;
  const view = /^[1-9]$/.test(event.key) ? offered.value[Number(event.key) - 1] : undefined;
  if (view) {
    location.hash = toView(view.view);
    return;
  }
  if (event.key === '?') {
    helpOpen.value = true;
    return;
  }
  if (event.key === '/') {
    const search = document.querySelector<HTMLInputElement>('input[type=search]');
    if (search) {
      event.preventDefault();
      search.focus();
    }
    return;
  }
  const own = keysOfTheView().find(({ key }) => key === event.key);
  if (own) {
    event.preventDefault();
    // Held, a key goes on along the list; it does nothing twice.
    if (!event.repeat || event.key.startsWith('Arrow')) own.run();
  }
}
