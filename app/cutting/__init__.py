"""What is heard of a take: pauses made shorter, passages left out, kept and moved, shown as played and heard."""
