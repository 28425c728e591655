/** Texts that never change (versions of documents), the most recently used up to a total length. */
export class TextCache {
  private readonly texts = new Map<string, string>();
  private total = 0;

  constructor(private readonly mostCharacters = 64 * 1024 * 1024) {}

  get(key: string): string | undefined {
    const text = this.texts.get(key);
    if (text !== undefined) {
      this.texts.delete(key);
      this.texts.set(key, text);
    }
    return text;
  }

  set(key: string, text: string): void {
    if (this.texts.has(key) || text.length > this.mostCharacters) return;
    this.texts.set(key, text);
    this.total += text.length;
    for (const [oldest, old] of this.texts) {
      if (this.total <= this.mostCharacters) return;
      this.texts.delete(oldest);
      this.total -= old.length;
    }
  }
}
