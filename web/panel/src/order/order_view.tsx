// SPDX-License-Identifier: Apache-2.0
import type { JSX } from 'preact';
export const OrderView = (): JSX.Element => <section aria-label="Order" />;
