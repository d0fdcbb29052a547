"""An invented service: people, eighteen months of work and today, made through the services with a fixed seed."""
