"""The Django project: settings, addresses, start-up; the only Django in safety."""
