"""The player's folder opened on the computer: its pages, its starter, JupyterLab's settings."""
