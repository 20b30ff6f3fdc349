"""A recipe: what colour it gives, its dots, how it is laid, typed and copied."""
