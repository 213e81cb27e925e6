"""How a text is said: breath groups, tunes, stress, weak forms, links, decided once for all."""
