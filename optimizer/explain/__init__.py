"""Why this kit: limits with prices, conflicts and ways out, why and why-not, next-best, everyday questions."""
