"""The web server's entry point; DJANGO_SETTINGS_MODULE must be set."""

from django.core.wsgi import get_wsgi_application

import bandops.celery  # noqa: F401  (tasks are sent through the configured app)

application = get_wsgi_application()
