"""The bottles' state machine and what their state means today."""
