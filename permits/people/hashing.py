"""How passwords and PINs are hashed: Argon2id with memory that a small plant server has to spare."""

from django.contrib.auth.hashers import Argon2PasswordHasher


class SmallServerArgon2(Argon2PasswordHasher):
    """19 MiB, two passes, one lane: the least that OWASP's cheat sheet asks for (from memory).

    Django's default takes 100 MiB and a tenth of a second a check, which a phone page that asks for a PIN
    and two cores shared by a whole shift would feel.
    """

    memory_cost = 19_456
    time_cost = 2
    parallelism = 1
