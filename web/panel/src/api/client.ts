// SPDX-License-Identifier: Apache-2.0
// Asks the daemon. What comes back is typed by the API document; what is refused is thrown as
// Refused.
import type { paths } from '../generated/schema';
import type { Problem, VerdictProblem } from './types';

const base = '/api/v1';

type Json<Operation> = Operation extends {
  responses: { 200: { content: { 'application/json': infer Body } } };
}
  ? Body
  : undefined;
type PathWith<Method extends string> = {
  [Path in keyof paths]: paths[Path] extends { [M in Method]: { responses: object } }
    ? Path
    : never;
}[keyof paths];
type Sent<Operation> = Operation extends {
  requestBody?: { content: { 'application/json': infer Body } };
}
  ? Body
  : never;

export type Names = Record<string, string | number>;
export type Query = Record<string, string | number | boolean | undefined>;

// A problem detail (RFC 9457), or what stands for one if the daemon could not be reached.
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly problem: Problem & Partial<VerdictProblem>,
  ) {
    super(problem.detail);
  }
}

export function isAbort(error: unknown): boolean {
  return error instanceof DOMException && error.name === 'AbortError';
}

// Who says it is at this page, told to the daemon where it needs no login.
let statedName = '';
let onUnauthorized: () => void = () => {};
export const setStatedName = (name: string): void => void (statedName = name);
export const setUnauthorizedHandler = (handler: () => void): void =>
  void (onUnauthorized = handler);

export function fill(path: string, names: Names = {}, query: Query = {}): string {
  const filled = path.replace(/\{(\w+)\}/g, (_, name: string) =>
    encodeURIComponent(String(names[name] ?? '')),
  );
  const given = Object.entries(query).filter(([, value]) => value !== undefined && value !== '');
  const search = new URLSearchParams(given.map(([name, value]) => [name, String(value)]));
  return base + filled + (given.length ? `?${search}` : '');
}

async function problemIn(response: Response): Promise<Problem> {
  try {
    const body: unknown = await response.json();
    if (typeof body === 'object' && body !== null && 'detail' in body) return body as Problem;
  } catch {
    // Said below.
  }
  return {
    type: 'about:blank',
    title: response.statusText,
    status: response.status,
    detail: `The daemon answered ${response.status} ${response.statusText}.`,
  };
}

// The daemon itself waits 60 s for the slowest change; who hears nothing for longer is not heard.
const longestMs = 70_000;

export interface Options {
  query?: Query;
  headers?: Record<string, string>;
  signal?: AbortSignal;
  patienceMs?: number;
}

const noAnswer = (detail: string): Refused =>
  new Refused(0, { type: 'about:blank', title: 'No answer', status: 0, detail });

// A daemon that is frozen takes a request and never answers; nobody waits for it for ever.
export async function ask<Answer>(
  method: string,
  path: string,
  names: Names = {},
  body?: unknown,
  { query = {}, headers = {}, signal, patienceMs = longestMs }: Options = {},
): Promise<Answer> {
  const sent: Record<string, string> = { Accept: 'application/json', ...headers };
  // A header takes no other letters than those of Latin 1.
  if (statedName) sent['Catwalk-User'] = encodeURIComponent(statedName);
  if (body !== undefined) sent['Content-Type'] ??= 'application/json';
  const stop = new AbortController();
  const given = (): void => stop.abort();
  if (signal?.aborted) given();
  signal?.addEventListener('abort', given);
  let late = false;
  const patience = setTimeout(() => {
    late = true;
    stop.abort();
  }, patienceMs);
  try {
    const response = await fetch(fill(path, names, query), {
      method,
      headers: sent,
      credentials: 'same-origin',
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      signal: stop.signal,
    });
    if (!response.ok) {
      if (response.status === 401 && path !== '/session') onUnauthorized();
      throw new Refused(response.status, await problemIn(response));
    }
    return (response.status === 204 ? undefined : await response.json()) as Answer;
  } catch (error) {
    if (late)
      throw noAnswer(
        `The daemon has not answered for ${Math.ceil(patienceMs / 1000)} s. ${
          method === 'GET'
            ? 'Ask again, or look at the machine that it runs on.'
            : 'Whether it still does this is not known: look at the journal.'
        }`,
      );
    if (error instanceof Refused || isAbort(error)) throw error;
    throw noAnswer(
      'The daemon cannot be reached. Whether it still heard this is not known: look at the journal.',
    );
  } finally {
    clearTimeout(patience);
    signal?.removeEventListener('abort', given);
  }
}

export const get = <Path extends PathWith<'get'>>(
  path: Path,
  names: Names = {},
  options: Options = {},
): Promise<Json<paths[Path]['get']>> => ask('GET', path, names, undefined, options);

export const post = <Path extends PathWith<'post'>>(
  path: Path,
  names: Names,
  body: Sent<paths[Path]['post']>,
  options: Options = {},
): Promise<Json<paths[Path]['post']>> => ask('POST', path, names, body, options);

export const patch = <Path extends PathWith<'patch'>>(
  path: Path,
  names: Names,
  body: Sent<paths[Path]['patch']>,
  options: Options = {},
): Promise<Json<paths[Path]['patch']>> => ask('PATCH', path, names, body, options);
