// SPDX-License-Identifier: Apache-2.0
// Who is at this page, and what they may do.
import { computed, effect, signal } from '@preact/signals';
import { ask, get, post, Refused, setStatedName, setUnauthorizedHandler } from '../api/client';
import type { Problem, Role, Session } from '../api/types';
import { person } from '../browser/settings_kept';
import { connection, startFeed, stopFeed } from '../feed/store';
import { neededRole } from '../generated/tables';

export type Standing =
  | { at: 'asking' }
  | { at: 'in'; session: Session }
  // `because`: why one has to sign in again; absent on the first visit.
  | { at: 'out'; because?: string };
export const standing = signal<Standing>({ at: 'asking' });

const ranks: readonly Role[] = ['watch', 'operate', 'engineer'];
export const role = computed<Role>(() =>
  standing.value.at === 'in' ? standing.value.session.role : 'watch',
);
export const signedInAs = computed(() =>
  standing.value.at !== 'in'
    ? ''
    : standing.value.session.tokens
      ? standing.value.session.name
      : person.value,
);

// "POST /rack/lock": is it for the present role?
export function may(act: string): boolean {
  const needed = neededRole[act] ?? 'engineer';
  return ranks.indexOf(role.value) >= ranks.indexOf(needed);
}

// What the daemon takes: 1 to 64 bytes of UTF-8 without control or format characters.
export const isName = (text: string): boolean => {
  const bytes = new TextEncoder().encode(text).length;
  return bytes > 0 && bytes <= 64 && !/[\p{C}\p{Zl}\p{Zp}]/u.test(text) && text.trim() === text;
};

effect(() => {
  const open = standing.value.at === 'in' && !standing.value.session.tokens;
  setStatedName(open && isName(person.value) ? person.value : '');
});

function enter(session: Session): void {
  standing.value = { at: 'in', session };
  startFeed();
}

function leave(because?: string): void {
  stopFeed();
  standing.value = because ? { at: 'out', because } : { at: 'out' };
}

export async function findOut(): Promise<void> {
  try {
    enter(await get('/session'));
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    if (error.status === 401) return leave();
    // Not reached, or not ready: the feed says so, and tries again.
    if (standing.value.at === 'asking') setTimeout(() => void findOut(), 2000);
    if (connection.value.at === 'connecting')
      connection.value = { at: 'lost', since: Date.now(), why: error.problem.detail };
  }
}

export async function signIn(token: string): Promise<Problem | null> {
  try {
    enter(await post('/session', {}, { token }));
    return null;
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    return error.problem;
  }
}

export async function signOut(): Promise<void> {
  try {
    await ask<undefined>('DELETE', '/session');
  } catch {
    // Signed out here in any case.
  }
  leave();
}

setUnauthorizedHandler(() => {
  if (standing.value.at === 'in') leave('The session has ended. Sign in again to go on.');
});
effect(() => {
  if (connection.value.at === 'signed-out' && standing.peek().at === 'in')
    leave('The session has ended. Sign in again to go on.');
});
