"""Settings are chosen explicitly: DJANGO_SETTINGS_MODULE names local, test or production."""
