"""What is true and every lie about it, by name: inclusion, consistency, seals, proof files, parts, entries."""
