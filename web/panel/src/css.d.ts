// SPDX-License-Identifier: Apache-2.0
// In the page a style sheet is imported for its effect; in a test for its text.
declare module '*.css' {
  const text: string;
  export default text;
}
