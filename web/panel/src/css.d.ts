// SPDX-License-Identifier: Apache-2.0
declare module '*.css';
