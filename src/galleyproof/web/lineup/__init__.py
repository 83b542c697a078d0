"""The whole job as tables and forms, made from its model."""
