"""The data files: devices, forms and styles. People extend them, `engine.rows` reads them."""
